// Command licences writes the notices of everything that is linked into the program:
// for each module of the build, on each system it is built for, the licence and
// notice files at the module's root, and those of Go itself.
//
// Run it after a change of dependencies, through go generate in cmd/boretight. It
// needs the modules' sources, which the go command has after any build.
package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
)

const program = "boretight/cmd/boretight"

// systems are those that the program is built for: each links other modules.
var systems = []string{"linux", "windows", "darwin"}

func main() {
	out := flag.String("out", "", "file to write; standard output when empty")
	flag.Parse()
	if err := run(*out); err != nil {
		fmt.Fprintln(os.Stderr, "licences:", err)
		os.Exit(1)
	}
}

func run(out string) error {
	modules, err := linked()
	if err != nil {
		return err
	}
	var text bytes.Buffer
	if err := write(&text, modules); err != nil {
		return err
	}
	if out == "" {
		_, err := text.WriteTo(os.Stdout)
		return err
	}
	return os.WriteFile(out, text.Bytes(), 0o644)
}

// module is what go list says of one.
type module struct {
	Path, Version, Dir string
	Main               bool
}

// linked returns the modules of the program's packages on all systems, by path.
func linked() ([]module, error) {
	found := map[string]module{}
	for _, system := range systems {
		list := exec.Command("go", "list", "-deps", "-json=Module", program)
		list.Env = append(os.Environ(), "GOOS="+system, "CGO_ENABLED=0")
		list.Stderr = os.Stderr
		stdout, err := list.Output()
		if err != nil {
			return nil, fmt.Errorf("list the modules of %s for %s: %w", program, system, err)
		}
		decoder := json.NewDecoder(bytes.NewReader(stdout))
		for {
			var p struct{ Module *module }
			err := decoder.Decode(&p)
			if errors.Is(err, io.EOF) {
				break
			}
			if err != nil {
				return nil, fmt.Errorf("read the list of modules: %w", err)
			}
			if p.Module != nil && !p.Module.Main {
				found[p.Module.Path] = *p.Module
			}
		}
	}
	modules := make([]module, 0, len(found))
	for _, m := range found {
		modules = append(modules, m)
	}
	slices.SortFunc(modules, func(a, b module) int { return strings.Compare(a.Path, b.Path) })
	return modules, nil
}

// write prints the notices, Go's own first.
func write(w io.Writer, modules []module) error {
	fmt.Fprint(w, "What is built into this program, and on what terms.\n")
	root, err := exec.Command("go", "env", "GOROOT").Output()
	if err != nil {
		return fmt.Errorf("find Go itself: %w", err)
	}
	library := module{Path: "Go and its standard library", Dir: strings.TrimSpace(string(root))}
	all := append([]module{library}, modules...)
	for _, m := range all {
		files, err := notices(m.Dir)
		if err != nil {
			return fmt.Errorf("module %s: %w", m.Path, err)
		}
		fmt.Fprintf(w, "\n== %s\n", strings.TrimSpace(m.Path+" "+m.Version))
		for _, name := range files {
			text, err := os.ReadFile(filepath.Join(m.Dir, name))
			if err != nil {
				return fmt.Errorf("module %s: %w", m.Path, err)
			}
			text = bytes.ReplaceAll(text, []byte("\r\n"), []byte("\n"))
			fmt.Fprintf(w, "\n-- %s\n\n%s\n", name, bytes.TrimSpace(text))
		}
	}
	return nil
}

// notices returns the names of the files at a module's root that say on what terms
// it may be passed on; a module without one may not be linked.
func notices(dir string) ([]string, error) {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return nil, err
	}
	var names []string
	for _, e := range entries {
		upper := strings.ToUpper(e.Name())
		for _, prefix := range []string{"LICENSE", "LICENCE", "COPYING", "NOTICE", "UNLICENSE"} {
			if e.Type().IsRegular() && strings.HasPrefix(upper, prefix) {
				names = append(names, e.Name())
				break
			}
		}
	}
	if len(names) == 0 {
		return nil, fmt.Errorf("no licence found in %s", dir)
	}
	return names, nil
}
