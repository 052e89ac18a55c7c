package catalog

import (
	"bytes"
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/pelletier/go-toml/v2"
)

// amended is a file as text, to be written again.
type amended struct {
	Instrument string            `toml:"instrument"`
	Like       string            `toml:"like,omitempty"`
	Title      string            `toml:"title,omitempty"`
	System     string            `toml:"system,omitempty"`
	Notes      []string          `toml:"notes,omitempty,multiline"`
	Sources    map[string]string `toml:"sources,omitempty"`
	Joints     []amendedJoint    `toml:"joint,omitempty"`
}

type amendedJoint struct {
	Name     string   `toml:"name"`
	Title    string   `toml:"title,omitempty"`
	Without  []string `toml:"without,omitempty"`
	Notes    []string `toml:"notes,omitempty,multiline"`
	Bore     []part   `toml:"bore,omitempty,inline,multiline"`
	Ends     []part   `toml:"end,omitempty,inline,multiline"`
	Sections []part   `toml:"section,omitempty,inline,multiline"`
	Holes    []part   `toml:"hole,omitempty,inline,multiline"`
	Usual    part     `toml:"usual,omitempty,inline"`
	Seats    []part   `toml:"seat,omitempty,inline,multiline"`
}

// part has the keys of all kinds of things.
type part struct {
	Name     string   `toml:"name,omitempty"`
	At       string   `toml:"at,omitempty"`
	Length   string   `toml:"length,omitempty"`
	From     string   `toml:"from,omitempty"`
	To       string   `toml:"to,omitempty"`
	ClosedBy string   `toml:"closed-by,omitempty"`
	Diameter string   `toml:"diameter,omitempty"`
	Finger   string   `toml:"finger,omitempty"`
	Hole     string   `toml:"hole,omitempty"`
	Land     string   `toml:"land,omitempty"`
	Pad      string   `toml:"pad,omitempty"`
	PadKind  string   `toml:"pad-kind,omitempty"`
	Hinge    string   `toml:"hinge,omitempty"`
	Key      string   `toml:"key,omitempty"`
	Stands   string   `toml:"stands,omitempty"`
	Reach    string   `toml:"reach,omitempty"`
	Can      []string `toml:"can,omitempty"`
}

// fields are all keys with a text.
func (p *part) fields() map[string]*string {
	return map[string]*string{
		"at": &p.At, "length": &p.Length, "from": &p.From, "to": &p.To, "closed-by": &p.ClosedBy,
		"diameter": &p.Diameter, "finger": &p.Finger, "hole": &p.Hole, "land": &p.Land, "pad": &p.Pad,
		"pad-kind": &p.PadKind, "hinge": &p.Hinge, "key": &p.Key, "stands": &p.Stands, "reach": &p.Reach,
	}
}

// texts are the keys that are told.
func (p part) texts() map[string]string {
	told := map[string]string{}
	for key, value := range p.fields() {
		if *value != "" {
			told[key] = *value
		}
	}
	if len(p.Can) > 0 {
		told["can"] = strings.Join(p.Can, ", ")
	}
	return told
}

// set gives a key a text with its mark.
func (p *part) set(key, text, mark string) error {
	if key == "can" {
		p.Can = nil
		for move := range strings.SplitSeq(text, ",") {
			if move = strings.TrimSpace(move); move != "" {
				p.Can = append(p.Can, move)
			}
		}
		return nil
	}
	field, ok := p.fields()[key]
	if !ok {
		return fmt.Errorf("change the catalog: no key %q", key)
	}
	if *field = strings.TrimSpace(text); *field != "" && !strings.HasSuffix(*field, "]") {
		*field += mark
	}
	return nil
}

func amendedOf(text []byte, instrument string) (f amended, head string, err error) {
	if len(bytes.TrimSpace(text)) == 0 {
		return amended{Instrument: instrument}, "", nil
	}
	if err := toml.NewDecoder(bytes.NewReader(text)).DisallowUnknownFields().Decode(&f); err != nil {
		return f, "", fmt.Errorf("change the shop's file by hand, it cannot be read as it is: %w", err)
	}
	if instrument != "" && f.Instrument != instrument {
		return f, "", fmt.Errorf("change the shop's file by hand: it is of %q, not of %q", f.Instrument, instrument)
	}
	for line := range strings.Lines(string(text)) {
		if !strings.HasPrefix(strings.TrimSpace(line), "#") {
			break
		}
		head += line
	}
	return f, head, nil
}

// joint returns a joint of the file, a new one if there is none of the name.
func (f *amended) joint(name string) *amendedJoint {
	i := slices.IndexFunc(f.Joints, func(j amendedJoint) bool { return j.Name == name })
	if i < 0 {
		i = len(f.Joints)
		f.Joints = append(f.Joints, amendedJoint{Name: name})
	}
	return &f.Joints[i]
}

// mark returns what is put behind a text that has the source, and notes what it means.
func (f *amended) mark(source string) string {
	if source = strings.TrimSpace(source); source == "" {
		return ""
	}
	name := ""
	for n := 1; ; n++ {
		name = fmt.Sprintf("source-%d", n)
		if was, ok := f.Sources[name]; !ok || was == source {
			break
		}
	}
	if f.Sources == nil {
		f.Sources = map[string]string{}
	}
	f.Sources[name] = source
	return " [" + name + "]"
}

// lay lays what is told over a named thing.
func (j *amendedJoint) lay(of Thing, told map[string]string, mark string) error {
	list, err := j.list(of.Kind)
	if err != nil {
		return err
	}
	i := slices.IndexFunc(*list, func(p part) bool { return p.Name == of.Name })
	if i < 0 {
		i = len(*list)
		*list = append(*list, part{Name: of.Name})
	}
	p := &(*list)[i]
	for key, text := range told {
		if err := p.set(key, text, mark); err != nil {
			return err
		}
	}
	if len(p.texts()) == 0 {
		*list = slices.Delete(*list, i, i+1)
	}
	return nil
}

func (j *amendedJoint) list(kind string) (*[]part, error) {
	switch kind {
	case KindEnd:
		return &j.Ends, nil
	case KindSection:
		return &j.Sections, nil
	case KindHole:
		return &j.Holes, nil
	case KindSeat:
		return &j.Seats, nil
	}
	return nil, fmt.Errorf("change the catalog: no kind %q", kind)
}

func (j *amendedJoint) count() int {
	return len(j.Bore) + len(j.Ends) + len(j.Sections) + len(j.Holes) + len(j.Seats) + len(j.Without)
}

func (j amendedJoint) empty() bool {
	return j.count() == 0 && j.Title == "" && len(j.Notes) == 0 && len(j.Usual.texts()) == 0
}

// boreOf reads the pieces of a bore; a piece of which nothing is told ends it.
func boreOf(told map[string]string, mark string) ([]part, error) {
	var bore []part
	for n := 1; ; n++ {
		var p part
		for _, key := range []string{"length", "from", "to"} {
			if err := p.set(key, told[fmt.Sprintf("%d %s", n, key)], mark); err != nil {
				return nil, err
			}
		}
		if len(p.texts()) == 0 {
			break
		}
		bore = append(bore, p)
	}
	if len(bore) == 0 {
		return nil, errors.New("change the catalog: a bore without a piece")
	}
	return bore, nil
}

// write returns a file's text; nothing of a file that tells nothing.
func write(head string, f amended) ([]byte, error) {
	f.Joints = slices.DeleteFunc(f.Joints, amendedJoint.empty)
	if len(f.Joints) == 0 && f.Like == "" && f.Title == "" && f.System == "" && len(f.Notes) == 0 {
		return nil, nil
	}
	var out bytes.Buffer
	out.WriteString(head)
	if err := toml.NewEncoder(&out).Encode(f); err != nil {
		return nil, fmt.Errorf("write the shop's file: %w", err)
	}
	return out.Bytes(), nil
}
