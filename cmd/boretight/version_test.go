package main

import (
	"os/exec"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestEveryLinkedModuleHasItsLicence fails when dependencies have changed since
// licences.txt was made: run go generate ./cmd/boretight then.
func TestEveryLinkedModuleHasItsLicence(t *testing.T) {
	t.Parallel()
	list := exec.Command("go", "list", "-deps", "-f", "{{with .Module}}{{if not .Main}}{{.Path}} {{.Version}}{{end}}{{end}}", ".")
	out, err := list.Output()
	require.NoError(t, err)
	modules := strings.Fields(strings.ReplaceAll(string(out), " ", "@"))
	require.Greater(t, len(modules), 20)
	for _, m := range modules {
		assert.Contains(t, licences, "\n== "+strings.ReplaceAll(m, "@", " ")+"\n", "no licence for %s", m)
	}
	assert.Contains(t, licences, "\n== Go and its standard library")
}
