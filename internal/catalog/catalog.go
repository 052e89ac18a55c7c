package catalog

import (
	"embed"
	"fmt"
	"path"
	"slices"
	"strings"
	"sync"
)

// Catalog is what is known of instruments. The zero value knows none.
type Catalog struct{ instruments []Instrument }

//go:embed template/*.toml
var templates embed.FS

// Templates returns the instruments that come with the program. An error is a fault of
// the program's own.
func Templates() (Catalog, error) {
	read, err := readTemplates()
	if err != nil {
		return Catalog{}, err
	}
	c := Catalog{slices.Clone(read.instruments)}
	for k, i := range c.instruments {
		c.instruments[k] = i.clone()
	}
	return c, nil
}

// readTemplates reads them once: they cannot change, and reading them takes longer than all
// else of a page.
var readTemplates = sync.OnceValues(func() (Catalog, error) {
	files, err := templates.ReadDir("template")
	if err != nil {
		return Catalog{}, fmt.Errorf("read templates: %w", err)
	}
	var c Catalog
	for _, f := range files {
		text, err := templates.ReadFile(path.Join("template", f.Name()))
		if err != nil {
			return Catalog{}, fmt.Errorf("read template: %w", err)
		}
		if c, err = c.lay(f.Name(), text, Source{Kind: Starting}); err != nil {
			return Catalog{}, fmt.Errorf("template %w", err)
		}
	}
	return c, nil
})

// Edit returns the catalogue with a file of the shop's laid on top; name is what faults
// call the file. All faults are returned at once, each a [*Fault].
func (c Catalog) Edit(name string, text []byte) (Catalog, error) {
	return c.lay(name, text, Source{Kind: Shop})
}

// lay reads a file whose values come from usual where they do not say it.
func (c Catalog) lay(name string, text []byte, usual Source) (Catalog, error) {
	f, places, err := decode(name, text)
	if err != nil {
		return Catalog{}, err
	}
	r := &reader{name: name, usual: usual, sources: f.Sources, places: places}
	i, err := r.instrument(c, f)
	if err != nil {
		return Catalog{}, err
	}
	others := slices.DeleteFunc(slices.Clone(c.instruments), func(o Instrument) bool { return o.Name == i.Name })
	others = append(others, i)
	slices.SortFunc(others, func(a, b Instrument) int { return strings.Compare(a.Name, b.Name) })
	return Catalog{others}, nil
}

// Instruments returns all instruments in the order of their names.
func (c Catalog) Instruments() []Instrument { return slices.Clone(c.instruments) }

// Instrument finds an instrument by its name, or says which there are.
func (c Catalog) Instrument(name string) (Instrument, error) {
	names := make([]string, len(c.instruments))
	for k, i := range c.instruments {
		if i.Name == name {
			return i, nil
		}
		names[k] = i.Name
	}
	return Instrument{}, fmt.Errorf("no instrument %q in the catalog: want one of %s", name, strings.Join(names, ", "))
}

// Joint finds a joint named INSTRUMENT/JOINT, or says which there are.
func (c Catalog) Joint(name string) (Instrument, Joint, error) {
	of, joint, ok := strings.Cut(name, "/")
	if !ok {
		return Instrument{}, Joint{}, fmt.Errorf("joint %q: want INSTRUMENT/JOINT, such as oboe/upper", name)
	}
	i, err := c.Instrument(of)
	if err != nil {
		return Instrument{}, Joint{}, err
	}
	j, ok := i.Joint(joint)
	if !ok {
		names := make([]string, len(i.Joints))
		for k, j := range i.Joints {
			names[k] = j.Name
		}
		return Instrument{}, Joint{}, fmt.Errorf("no joint %q of %s in the catalog: want one of %s", joint, of, strings.Join(names, ", "))
	}
	return i, j, nil
}
