package main

import (
	"context"
	_ "embed"
	"fmt"
	"io"
	"runtime"
	"runtime/debug"

	"boretight/internal/decay"
)

//go:generate go run boretight/internal/tools/licences -out licences.txt

//go:embed licences.txt
var licences string

type versionCmd struct {
	JSON     bool `name:"json" xor:"what" help:"Print one JSON object."`
	Licences bool `xor:"what" help:"Print the licences of everything that is built in."`
}

// Help shows an example.
func (versionCmd) Help() string {
	return `Example:
  boretight version --licences`
}

// build says what program this is.
type build struct {
	Schema   string `json:"schema"`
	Version  string `json:"version"`
	Revision string `json:"revision,omitempty"`
	Modified bool   `json:"modified,omitempty"`
	Method   string `json:"method"`
	Go       string `json:"go"`
	System   string `json:"system"`
}

// version returns what the build noted of itself.
func version() build {
	b := build{
		Schema: "boretight/version/1", Version: "unknown", Method: decay.Method,
		Go: runtime.Version(), System: runtime.GOOS + "/" + runtime.GOARCH,
	}
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return b
	}
	if info.Main.Version != "" {
		b.Version = info.Main.Version
	}
	for _, s := range info.Settings {
		switch s.Key {
		case "vcs.revision":
			b.Revision = s.Value
		case "vcs.modified":
			b.Modified = s.Value == "true"
		}
	}
	return b
}

func (c *versionCmd) run(_ context.Context, a app) (status, error) {
	b := version()
	var err error
	switch {
	case c.Licences:
		_, err = io.WriteString(a.out, licences)
	case c.JSON:
		err = printJSON(a.out, b)
	default:
		_, err = fmt.Fprintf(a.out, "boretight %s (%s, %s, %s)\n", b.Version, b.Method, b.Go, b.System)
	}
	if err != nil {
		return failed, fmt.Errorf("print version: %w", err)
	}
	return done, nil
}
