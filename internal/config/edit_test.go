package config_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/config"
)

func TestAnEditChangesWhatItIsToldAndNoOtherByte(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		text    string
		changes []config.Change
		want    string
	}{
		"a value in place, its comment and gaps kept": {
			"# mine\nbench   =  'one'   # by the window\n\n[rig]\nhose = \"a\"\n",
			[]config.Change{config.Set("bench", "two")},
			"# mine\nbench   =  \"two\"   # by the window\n\n[rig]\nhose = \"a\"\n",
		},
		"a value over several lines": {
			"gauges = [\n  \"a=sim:still\", # left\n  \"b=sim:still\",\n] # all\nbench = \"x\"\n",
			[]config.Change{config.Set("gauges", []string{"serial:COM5"})},
			"gauges = [\"serial:COM5\"] # all\nbench = \"x\"\n",
		},
		"a text over several lines": {
			"[shop]\naddress = \"\"\"\n1 Lane\n[rig]\n\"\"\"\nname = \"n\"\n",
			[]config.Change{config.Set("shop.address", "2 Lane\nTown")},
			"[shop]\naddress = \"2 Lane\\nTown\"\nname = \"n\"\n",
		},
		"a new key behind its table's last one, indented like it": {
			"[rig]\n  hose = \"a\" # clear\n\n# the shop\n[shop]\nname = \"n\"\n",
			[]config.Change{config.Set("rig.valve", "1")},
			"[rig]\n  hose = \"a\" # clear\n  valve = \"1\"\n\n# the shop\n[shop]\nname = \"n\"\n",
		},
		"a new key in an empty table": {
			"[rig] # parts\n\n[shop]\n",
			[]config.Change{config.Set("rig.valve", "1")},
			"[rig] # parts\nvalve = \"1\"\n\n[shop]\n",
		},
		"a new key behind the line that shows it": {
			"[rig]\n  # hose = \"clear\"\n  # valve = \"1\"\n",
			[]config.Change{config.Set("rig.hose", "black")},
			"[rig]\n  # hose = \"clear\"\n  hose = \"black\"\n  # valve = \"1\"\n",
		},
		"a new table": {
			"bench = \"x\"",
			[]config.Change{config.Set("shop.name", "n"), config.Set("shop.holds", 5)},
			"bench = \"x\"\n\n[shop]\nname = \"n\"\nholds = 5\n",
		},
		"a new file": {
			"",
			[]config.Change{config.Set("rig.hose", "a"), config.Set("gauges", []string{"sim:still"}), config.Set("labels.replugged", true)},
			"gauges = [\"sim:still\"]\n\n[rig]\nhose = \"a\"\n\n[labels]\nreplugged = true\n",
		},
		"a key at the top, behind the file's own comment": {
			"# Settings of the bench.\n# Ours.\n\n# the rig\n[rig]\nhose = \"a\"\n",
			[]config.Change{config.Set("bench", "x")},
			"# Settings of the bench.\n# Ours.\n\nbench = \"x\"\n\n# the rig\n[rig]\nhose = \"a\"\n",
		},
		"a key at the top, before a table's comment": {
			"# the rig\n[rig]\nhose = \"a\"\n",
			[]config.Change{config.Set("bench", "x")},
			"bench = \"x\"\n\n# the rig\n[rig]\nhose = \"a\"\n",
		},
		"a key at the top, behind the last one there": {
			"bench = \"x\"\n[rig]\nhose = \"a\"\n",
			[]config.Change{config.Set("listen", "127.0.0.1:1")},
			"bench = \"x\"\nlisten = \"127.0.0.1:1\"\n[rig]\nhose = \"a\"\n",
		},
		"nothing where the value is so already": {
			"bench = 'x'\nhosts = [ 'a' , 'b' ]\n",
			[]config.Change{config.Set("bench", "x"), config.Set("hosts", []string{"a", "b"})},
			"bench = 'x'\nhosts = [ 'a' , 'b' ]\n",
		},
		"nothing where what is removed is not there or empty": {
			"listen = \"\"\ngauges = []\n",
			[]config.Change{config.Set("listen", ""), config.Set("gauges", []string(nil)), config.Set("rig.hose", "")},
			"listen = \"\"\ngauges = []\n",
		},
		"a removed key, with its line": {
			"[rig]\nhose = \"a\"\n  valve = \"1\"\nstoppers = \"A\"\n",
			[]config.Change{config.Set("rig.valve", "")},
			"[rig]\nhose = \"a\"\nstoppers = \"A\"\n",
		},
		"a removed key, the comment on its line kept": {
			"[rig]\n  valve = \"1\" # the brass one\n",
			[]config.Change{config.Set("rig.valve", "")},
			"[rig]\n  # the brass one\n",
		},
		"a removed list of several lines": {
			"hosts = [\n 'a',\n]\nbench = 'x'",
			[]config.Change{config.Set("hosts", []string{})},
			"bench = 'x'",
		},
		"dotted keys": {
			"rig.hose = \"a\"\nbench = \"x\"\n",
			[]config.Change{config.Set("rig.hose", "b"), config.Set("rig.valve", "1")},
			"rig.hose = \"b\"\nrig.valve = \"1\"\nbench = \"x\"\n",
		},
		"quoted keys": {
			"[ \"rig\" ]\n'hose' = \"a\"\n",
			[]config.Change{config.Set("rig.hose", "b"), config.Set("rig.valve", "1")},
			"[ \"rig\" ]\n'hose' = \"b\"\nvalve = \"1\"\n",
		},
		"a table in braces": {
			"rig = { hose = \"a\", valve = \"1\" } # parts\nshop = {}\n",
			[]config.Change{config.Set("rig.hose", "b"), config.Set("rig.stoppers", "A"), config.Set("shop.name", "n")},
			"rig = { stoppers = \"A\", hose = \"b\", valve = \"1\" } # parts\nshop = { name = \"n\" }\n",
		},
		"keys removed from braces": {
			"rig = { hose = \"a\", valve = \"1\", stoppers = \"A\" }\nshop = { name = \"n\" }\n",
			[]config.Change{config.Set("rig.hose", ""), config.Set("rig.stoppers", ""), config.Set("shop.name", "")},
			"rig = { valve = \"1\" }\nshop = { }\n",
		},
		"the line ends of the system it was written on": {
			"# mine\r\nbench = \"x\"\r\n[rig]\r\nhose = \"a\"",
			[]config.Change{config.Set("rig.valve", "1"), config.Set("shop.name", "n"), config.Set("listen", "127.0.0.1:1")},
			"# mine\r\nbench = \"x\"\r\nlisten = \"127.0.0.1:1\"\r\n[rig]\r\nhose = \"a\"\r\nvalve = \"1\"\r\n\r\n[shop]\r\nname = \"n\"\r\n",
		},
		"a byte-order mark kept": {
			"\xef\xbb\xbfbench = \"x\"\n",
			[]config.Change{config.Set("bench", "y")},
			"\xef\xbb\xbfbench = \"y\"\n",
		},
		"text that needs escapes": {
			"",
			[]config.Change{config.Set("copies", `D:\copies "ü"`+"\t\u0001\u007f")},
			`copies = "D:\\copies \"ü\"\t\u0001\u007f"` + "\n",
		},
		"a long list, one a line": {
			"",
			[]config.Change{config.Set("gauges", []string{"upper=serial:/dev/serial/by-id/usb-gauge-0001", "lower=serial:/dev/serial/by-id/usb-gauge-0002"})},
			"gauges = [\n  \"upper=serial:/dev/serial/by-id/usb-gauge-0001\",\n  \"lower=serial:/dev/serial/by-id/usb-gauge-0002\",\n]\n",
		},
		"the later of two changes of a key": {
			"",
			[]config.Change{config.Set("bench", "x"), config.Set("bench", "y")},
			"bench = \"y\"\n",
		},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			text := []byte(c.text)
			got, err := config.Edit(text, c.changes...)
			require.NoError(t, err)
			assert.Equal(t, c.want, string(got))
			assert.Equal(t, c.text, string(text), "what was given is left alone")
		})
	}
}

func TestTheReferenceFileIsFilledInWhereItShowsTheKey(t *testing.T) {
	t.Parallel()
	text := reference(t)
	got, err := config.Edit([]byte(text), config.Set("gauges", []string{"sim:still"}), config.Set("shop.name", "Reed & Key"), config.Set("rig.hose", "black"))
	require.NoError(t, err)
	want := strings.NewReplacer(
		"gauges = []", `gauges = ["sim:still"]`,
		"# on slips and dossiers\n", "# on slips and dossiers\nname = \"Reed & Key\"\n",
		"# hose = \"clear 4 mm\"\n", "# hose = \"clear 4 mm\"\nhose = \"black\"\n",
	).Replace(text)
	assert.Equal(t, want, string(got))
}

func TestAnEditIsRefused(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		text   string
		change config.Change
		want   string
	}{
		"of a text that is no TOML":       {"bench = \"x\"\nlisten = one\n", config.Set("bench", "y"), "edit settings: line 2, column 10: "},
		"of a text with a key twice":      {"bench = \"x\"\nbench = \"y\"\n", config.Set("bench", "z"), "line 2"},
		"to a key that nobody knows":      {"", config.Set("shop.motto", "y"), `line 2, column 1: unknown key "shop.motto"`},
		"to a value that cannot be":       {"", config.Set("shop.holds", 99), "holds = 99: want from 1 to 30"},
		"to a value of another kind":      {"", config.Set("bench", 3), "line 1, column 9"},
		"to a table as if it was a key":   {"[rig]\nhose = \"a\"\n", config.Set("rig", ""), "rig: it is a table: change its keys"},
		"to a key below a value":          {"bench = \"x\"\n", config.Set("bench.name", "y"), "bench is a value, not a table"},
		"to no key":                       {"", config.Set("a b", "y"), "want a key such as gauges or rig.hose"},
		"to a text that is none":          {"", config.Set("bench", "\xff"), "not UTF-8"},
		"of a file with a list of tables": {"[[rig]]\nhose = \"a\"\n", config.Set("bench", "y"), "line "},
		"of a file with a fault beside":   {"limt = 3\n", config.Set("bench", "y"), `unknown key "limt"`},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			got, err := config.Edit([]byte(c.text), c.change)
			require.ErrorContains(t, err, c.want)
			assert.Nil(t, got)
		})
	}
}
