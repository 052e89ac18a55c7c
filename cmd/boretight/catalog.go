package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/adrg/xdg"

	"boretight/internal/catalog"
)

// editsFolder is where the shop's edits lie below the system's folder of settings.
const editsFolder = "boretight/catalog"

// catalogCmd holds what shows the catalogue.
type catalogCmd struct {
	List catalogListCmd `cmd:"" help:"List the instruments with their joints."`
	Show catalogShowCmd `cmd:"" help:"Show a joint: bore, ends, sections, seats, and where each value comes from."`
}

// catalogued is what both take.
type catalogued struct {
	Edits []string `placeholder:"PATH" help:"File of the shop's edits, or folder of such, to lay on the templates; that in the folder of settings when not given."`
	JSON  bool     `name:"json" help:"Print one JSON object a joint, one a line."`
}

// load returns the templates with the shop's edits on top.
func (c catalogued) load() (catalog.Catalog, error) {
	known, err := catalog.Templates()
	if err != nil {
		return known, err
	}
	paths := c.Edits
	if len(paths) == 0 {
		if folder, err := xdg.SearchConfigFile(editsFolder); err == nil {
			paths = []string{folder}
		}
	}
	for _, path := range paths {
		files, err := editsAt(path)
		if err != nil {
			return known, fmt.Errorf("read the shop's catalog: %w", err)
		}
		for _, file := range files {
			text, err := os.ReadFile(file)
			if err != nil {
				return known, fmt.Errorf("read the shop's catalog: %w", err)
			}
			if known, err = known.Edit(file, text); err != nil {
				return known, err
			}
		}
	}
	return known, nil
}

// editsAt returns the file at a path, or the files of the folder that it is, in the
// order of their names.
func editsAt(path string) ([]string, error) {
	info, err := os.Stat(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, fmt.Errorf("%s does not exist", path)
	case err != nil:
		return nil, err
	case !info.IsDir():
		return []string{path}, nil
	}
	entries, err := os.ReadDir(path)
	if err != nil {
		return nil, err
	}
	var files []string
	for _, e := range entries {
		if !e.IsDir() && filepath.Ext(e.Name()) == ".toml" {
			files = append(files, filepath.Join(path, e.Name()))
		}
	}
	return files, nil
}

type catalogListCmd struct {
	Of catalogued `embed:""`
}

// Help shows an example.
func (catalogListCmd) Help() string {
	return `Example:
  boretight catalog list

The names are what --joint, boretight limit and boretight seek take. The shop's edits
are files such as boretight/catalog/oboe.toml in the system's folder of settings.`
}

func (c *catalogListCmd) run(_ context.Context, a app) (status, error) {
	known, err := c.Of.load()
	if err != nil {
		return failed, err
	}
	for _, i := range known.Instruments() {
		if c.Of.JSON {
			err = c.Of.print(a.out, i, i.Joints)
		} else {
			_, err = fmt.Fprint(a.out, listText(i))
		}
		if err != nil {
			return failed, err
		}
	}
	return done, nil
}

// listText is an instrument with a line for each of its joints.
func listText(i catalog.Instrument) string {
	text := wrapped("", i.Title.Value+", "+i.System.Value)
	for _, j := range i.Joints {
		what := inLine(counted(len(j.Seats), "seat"), counted(len(j.Holes), "open hole"), j.Length().String())
		text += fmt.Sprintf("  %-20s  %s\n", i.Name+"/"+j.Name, what)
	}
	return text
}

// counted is a number of things, empty for none.
func counted(n int, thing string) string {
	switch n {
	case 0:
		return ""
	case 1:
		return "1 " + thing
	}
	return fmt.Sprintf("%d %ss", n, thing)
}

type catalogShowCmd struct {
	Name string     `arg:"" placeholder:"INSTRUMENT[/JOINT]" help:"Joint, such as oboe/upper, or an instrument for all of its joints."`
	Of   catalogued `embed:""`
}

// Help shows an example.
func (catalogShowCmd) Help() string {
	return `Example:
  boretight catalog show oboe/upper

Positions count from the end nearest the player. The number in brackets behind a value
tells where it comes from, said at the end; one at the end of a line tells it of the
whole line.`
}

func (c *catalogShowCmd) run(_ context.Context, a app) (status, error) {
	known, err := c.Of.load()
	if err != nil {
		return failed, err
	}
	instrument, joints, err := chosen(known, c.Name)
	if err != nil {
		return usage, &usageError{err: err, hint: "see boretight catalog list"}
	}
	if err := c.Of.print(a.out, instrument, joints); err != nil {
		return failed, err
	}
	return done, nil
}

// print writes joints down, as JSON or for people.
func (c catalogued) print(w io.Writer, i catalog.Instrument, joints []catalog.Joint) error {
	for _, j := range joints {
		sheet, err := catalog.NewSheet(i, j)
		if err != nil {
			return err
		}
		if c.JSON {
			err = printJSON(w, sheet)
		} else {
			_, err = fmt.Fprint(w, sheetText(sheet))
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// chosen finds the joint that is named, or all joints of an instrument.
func chosen(known catalog.Catalog, name string) (catalog.Instrument, []catalog.Joint, error) {
	if !strings.Contains(name, "/") {
		i, err := known.Instrument(name)
		return i, i.Joints, err
	}
	i, j, err := known.Joint(name)
	return i, []catalog.Joint{j}, err
}

// sheetText is a joint for people.
func sheetText(s catalog.Sheet) string {
	var p sheetPrinter
	p.text.WriteString(wrapped("", s.Name+": "+s.Title))
	p.line("key system", catalog.Sources{"system": s.Sources["system"]}, func(marked) string { return s.System })
	p.plain("length", fmt.Sprintf("%g mm", s.Length))
	p.plain("volume", plusMinus(s.Volume.Value, 2*s.Volume.U, "ml")+" (U, k = 2), of the bore; a syringe step would tell it better")
	p.plain("heat diameter", fmt.Sprintf("%.3g mm", s.HeatDiameter))
	for _, x := range s.Bore {
		p.line("bore", x.Sources, func(m marked) string {
			return fmt.Sprintf("%s long, from %s to %s wide", m.mm(x.Length, "length_mm"), m.mm(x.From, "from_mm"), m.mm(x.To, "to_mm"))
		})
	}
	for _, x := range s.Ends {
		p.line("end", x.Sources, func(m marked) string {
			return fmt.Sprintf("%s at %s, closed by %s", x.End, m.mm(x.Position, "position_mm"), m.word(x.ClosedBy, "closed_by"))
		})
	}
	for _, x := range s.Sections {
		p.line("section", x.Sources, func(m marked) string {
			return fmt.Sprintf("%s, from %s to %s, %.3g ml: %s", x.Section, m.mm(x.From, "from_mm"), m.mm(x.To, "to_mm"), x.Volume.Value, strings.Join(x.Seats, ", "))
		})
	}
	p.plain("to hold it", closureText(s.Closure))
	for _, x := range s.Holes {
		p.line("open hole", x.Sources, func(m marked) string {
			return fmt.Sprintf("%s at %s, %s wide, finger %s", x.Hole, m.mm(x.Position, "position_mm"), m.mm(x.Diameter, "diameter_mm"), m.word(x.Finger, "finger"))
		})
	}
	for _, x := range s.Seats {
		p.line("seat", x.Sources, func(m marked) string { return seatText(x, m) })
	}
	for _, x := range s.Notes {
		p.line("note", catalog.Sources{"note": x.Source}, func(marked) string { return x.Note })
	}
	for k, source := range p.sources {
		p.plain(fmt.Sprintf("[%d]", k+1), source)
	}
	return p.text.String()
}

func seatText(x catalog.SeatSheet, m marked) string {
	return fmt.Sprintf("%s at %s: hole %s, land %s; pad %s, %s; hinge %s behind the rim; stands %s; %s; reach: %s; can %s",
		x.Seat, m.mm(x.Position, "position_mm"), m.mm(x.Hole, "hole_mm"), m.mm(x.Land, "land_mm"),
		m.mm(x.Pad, "pad_mm"), m.word(x.PadKind, "pad_kind"), m.mm(x.Hinge, "hinge_mm"),
		m.word(x.Stands, "stands"), m.word(x.Key, "key"), m.word(x.Reach, "reach"), m.word(strings.Join(x.Can, ", "), "can"))
}

func closureText(c catalog.Closure) string {
	var parts []string
	add := func(do string, what []string) {
		if len(what) > 0 {
			parts = append(parts, do+" "+strings.Join(what, ", "))
		}
	}
	add("stopper", c.Stopper)
	add("plug", c.Plug)
	add("press", c.Press)
	add("leave to their springs", c.Rest)
	return strings.Join(parts, "; ")
}

// sheetPrinter prints lines whose values bear the number of their source.
type sheetPrinter struct {
	text    strings.Builder
	sources []string
}

// plain prints a line that is worked out of others.
func (p *sheetPrinter) plain(label, text string) {
	p.text.WriteString(wrapped(fmt.Sprintf("  %-15s", label), text))
}

// line prints values with their marks: one for all of them where they have one source.
func (p *sheetPrinter) line(label string, sources catalog.Sources, write func(marked) string) {
	all := slices.Compact(slices.Sorted(maps.Values(sources)))
	if len(all) == 1 {
		p.plain(label, write(marked{})+p.mark(all[0]))
		return
	}
	p.plain(label, write(marked{p, sources}))
}

// mark is the number of a source in brackets.
func (p *sheetPrinter) mark(source string) string {
	k := slices.Index(p.sources, source)
	if k < 0 {
		k = len(p.sources)
		p.sources = append(p.sources, source)
	}
	return fmt.Sprintf(" [%d]", k+1)
}

// marked writes values with the marks of their keys; the zero value without any.
type marked struct {
	printer *sheetPrinter
	sources catalog.Sources
}

func (m marked) word(value, key string) string {
	if m.printer == nil {
		return value
	}
	return value + m.printer.mark(m.sources[key])
}

func (m marked) mm(x float64, key string) string { return m.word(fmt.Sprintf("%g mm", x), key) }
