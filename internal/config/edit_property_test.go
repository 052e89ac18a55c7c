package config_test

import (
	"maps"
	"reflect"
	"slices"
	"strings"
	"testing"

	"github.com/pelletier/go-toml/v2"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"boretight/internal/config"
)

// known are keys of the file with the ways in which their values may be written.
var known = map[string][]string{
	"bench":         {`"one"`, `'two'  # "quoted" = yes`, `"""three"""`},
	"listen":        {`""`, `"127.0.0.1:1"`},
	"hosts":         {`[]`, `["a"]`, "[ # [rig]\n  'a', # hose = \"x\"\n\n  \"b\"\n]"},
	"gauges":        {`["sim:still"]`, "[\n\"sim:still\",\n] # all"},
	"shop.name":     {`"Reed # Key"`, `'''n'''`},
	"shop.address":  {`"1 Lane\nTown"`, "\"\"\"\n[rig]\nhose = 3\n\"\"\"", "'''1 Lane\n# Town'''"},
	"shop.holds":    {`3`, `+5`, `0x7`},
	"rig.hose":      {`"clear"`, `'black'	# tab`},
	"rig.valve":     {`"1"`},
	"labels.joint":  {`"oboe/upper"`},
	"measure.limit": {`"2.5 sccm"`, `'1e-3 Pa·m³/s' # shop's`},
}

// drawFile draws a settings file that is valid, in any order and layout.
func drawFile(t *rapid.T) string {
	var b strings.Builder
	noise := func() {
		for _, line := range rapid.SliceOfN(rapid.SampledFrom([]string{"", "# a = \"b\"", "#[rig] of old", "  # hose = \"x\"", "# name = 'n'"}), 0, 3).Draw(t, "noise") {
			b.WriteString(line + "\n")
		}
	}
	present := rapid.SliceOfDistinct(rapid.SampledFrom(slices.Sorted(maps.Keys(known))), rapid.ID).Draw(t, "present")
	fill := func(table string, name func(string) string, parting, ending string) {
		first := true
		for _, key := range present {
			if in, _ := split(key); in != table {
				continue
			}
			if !first {
				b.WriteString(parting)
			}
			first = false
			value := rapid.SampledFrom(known[key]).Draw(t, key)
			if ending == "" { // in braces nothing may follow a value
				value = known[key][0]
			} else {
				noise()
			}
			b.WriteString(name(key) + " = " + value + ending)
		}
	}
	leaf := func(key string) string { _, name := split(key); return name }
	noise()
	fill("", leaf, "", "\n")
	layouts := map[string]string{}
	for _, table := range []string{"shop", "rig", "labels", "measure"} {
		layouts[table] = rapid.SampledFrom([]string{"header", "none", "dotted", "braces"}).Draw(t, table)
		switch layouts[table] {
		case "dotted":
			fill(table, func(key string) string { return key }, "", "\n")
		case "braces":
			b.WriteString(table + " = {")
			fill(table, leaf, ", ", "")
			b.WriteString("}\n")
		}
	}
	for _, table := range rapid.Permutation([]string{"shop", "rig", "labels", "measure"}).Draw(t, "order") {
		if layouts[table] == "header" {
			noise()
			b.WriteString("[" + table + "] # of it\n")
			fill(table, func(key string) string { return "  " + leaf(key) }, "", "\n")
		}
	}
	noise()
	text := b.String()
	if rapid.Bool().Draw(t, "unended") {
		text = strings.TrimSuffix(text, "\n")
	}
	if rapid.Bool().Draw(t, "crlf") {
		text = strings.ReplaceAll(text, "\n", "\r\n")
	}
	return text
}

// drawChange draws a change that the file can bear, and its value in a tree; nil for
// a key that is removed.
func drawChange(t *rapid.T) (key string, change config.Change, value any) {
	key = rapid.SampledFrom(slices.Sorted(maps.Keys(known))).Draw(t, "key")
	if rapid.IntRange(0, 3).Draw(t, "remove") == 0 && key != "bench" {
		return key, config.Set(key, ""), nil
	}
	switch key {
	case "shop.holds":
		n := rapid.IntRange(1, 30).Draw(t, "holds")
		return key, config.Set(key, n), int64(n)
	case "hosts":
		list := rapid.SliceOfN(rapid.StringMatching(`[a-z"'#\\ \]]{1,60}`), 1, 3).Draw(t, "hosts")
		all := make([]any, len(list))
		for i, s := range list {
			all[i] = s
		}
		return key, config.Set(key, list), all
	case "gauges":
		return key, config.Set(key, []string{"upper=sim:still"}), []any{"upper=sim:still"}
	}
	text := map[string]string{
		"listen": "127.0.0.1:2", "labels.joint": "flute/body", "measure.limit": "3 sccm",
		"shop.address": "2 \"Mill\" Lane\r\nTown #5",
	}[key]
	if text == "" {
		text = rapid.StringMatching(`[a-z"'#\\=]{1,20}`).Draw(t, "text")
	}
	return key, config.Set(key, text), text
}

func TestAnyEditOfAnyFileLeavesTheRestAsItWas(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		text := drawFile(t)
		_, err := config.Read(strings.NewReader(text))
		require.NoError(t, err, text)
		key, change, value := drawChange(t)
		edited, err := config.Edit([]byte(text), change)
		require.NoError(t, err, text)

		before, after := flat(t, text), flat(t, string(edited))
		was := before[key]
		switch {
		case value != nil:
			before[key] = value
		case was != "" && !reflect.DeepEqual(was, []any{}): // an empty value says nothing already
			delete(before, key)
		}
		assert.Equal(t, before, after, "%s\n----\n%s", text, edited)
		assert.True(t, contains(string(edited), commentsBeside(text)), "comments stay in their order\n%s\n----\n%s", text, edited)

		again, err := config.Edit(edited, change)
		require.NoError(t, err)
		assert.Equal(t, string(edited), string(again), "a second time changes nothing")
		if strings.Contains(text, "\r\n") {
			assert.Equal(t, strings.Count(string(edited), "\r\n"), strings.Count(string(edited), "\n"), "line ends are of one kind")
		}
		if was == nil && value == nil {
			assert.Equal(t, text, string(edited))
		}
	})
}

func TestAKeyThatIsAddedAndRemovedAgainLeavesTheFile(t *testing.T) {
	t.Parallel()
	tight := func(text []byte) string { return strings.Join(strings.Fields(string(text)), "") }
	rapid.Check(t, func(t *rapid.T) {
		key, change, _ := drawChange(t)
		text, err := config.Edit([]byte(drawFile(t)), config.Set(key, ""))
		require.NoError(t, err)
		if _, there := flat(t, string(text))[key]; there {
			return // written, but empty
		}
		edited, err := config.Edit(text, change)
		require.NoError(t, err)
		back, err := config.Edit(edited, config.Set(key, ""))
		require.NoError(t, err)
		left := tight(back)
		if table, _ := split(key); table != "" {
			left = strings.TrimSuffix(left, "["+table+"]") // a header made for the key may stay
		}
		assert.Equal(t, tight(text), left)
	})
}

// FuzzEdit looks for a text that makes an edit panic, or that it spoils.
func FuzzEdit(f *testing.F) {
	f.Add("bench = \"x\"\n[rig]\nhose = 'a' # b\n", "rig.valve", "1")
	f.Add("rig = { hose = \"a\" }\r\nshop.name = '''n\r\n'''", "shop.name", "")
	f.Add("\xef\xbb\xbfgauges = [\n# none\n]", "gauges", "sim:still")
	f.Fuzz(func(t *testing.T, text, key, value string) {
		edited, err := config.Edit([]byte(text), config.Set(key, value))
		if err != nil {
			return
		}
		if _, err := config.Read(strings.NewReader(string(edited))); err != nil {
			t.Fatalf("%q became %q: %v", text, edited, err)
		}
		again, err := config.Edit(edited, config.Set(key, value))
		if err != nil || string(again) != string(edited) {
			t.Fatalf("%q became %q, then %q: %v", text, edited, again, err)
		}
	})
}

// flat returns what a file says, by whole keys.
func flat(t require.TestingT, text string) map[string]any {
	var all map[string]any
	require.NoError(t, toml.Unmarshal([]byte(text), &all), text)
	keys := map[string]any{}
	for key, value := range all {
		if table, ok := value.(map[string]any); ok {
			for name, value := range table {
				keys[key+"."+name] = value
			}
			continue
		}
		keys[key] = value
	}
	return keys
}

// commentsBeside are the comment lines of a file, without those beside or within a value.
func commentsBeside(text string) []string {
	var comments []string
	for line := range strings.Lines(text) {
		line = strings.TrimSpace(line)
		if strings.HasPrefix(line, "# ") && line != "# Town'''" || line == "#[rig] of old" {
			comments = append(comments, line)
		}
	}
	return comments
}

// contains reports whether lines occur in a text in their order.
func contains(text string, lines []string) bool {
	for line := range strings.Lines(text) {
		if len(lines) > 0 && strings.TrimSpace(line) == lines[0] {
			lines = lines[1:]
		}
	}
	return len(lines) == 0
}

func split(key string) (table, name string) {
	if table, name, ok := strings.Cut(key, "."); ok {
		return table, name
	}
	return "", key
}
