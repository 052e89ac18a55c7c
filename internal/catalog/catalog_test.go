package catalog_test

import (
	"math"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/catalog"
)

func templates(t *testing.T) catalog.Catalog {
	t.Helper()
	c, err := catalog.Templates()
	require.NoError(t, err)
	return c
}

func joint(t *testing.T, c catalog.Catalog, name string) catalog.Joint {
	t.Helper()
	_, j, err := c.Joint(name)
	require.NoError(t, err)
	return j
}

// The volumes and heat radii are computed from rounded typical profiles, the same that
// the templates have; joint lengths behind them: common practice, no source. The counts
// of pads are common practice too, but for the clarinet, "about 24 tone holes" (general
// page), and the saxophone, 25 pads (saxophone reference site, numbering of tone holes).
func TestTemplatesAreOfTheSizeOfTheirInstruments(t *testing.T) {
	t.Parallel()
	c := templates(t)
	for name, want := range map[string]struct {
		volume, within   float64 // ml
		radius           float64 // mm, 0: none is given
		fewest, most     int     // pads
		holes, stoppered int
	}{
		"oboe/upper":         {11.5, 0.1, 4.4, 11, 14, 1, 2},
		"oboe/lower":         {36, 0.5, 7.0, 9, 11, 0, 2},
		"oboe/bell":          {60, 1, 0, 1, 2, 0, 2},
		"english-horn/upper": {23, 0.5, 5.2, 10, 13, 1, 2},
		"english-horn/lower": {66, 0.5, 8.3, 9, 11, 0, 2},
		"clarinet/upper":     {39, 0.5, 7.4, 9, 11, 4, 2},
		"clarinet/lower":     {53, 0.5, 7.9, 6, 7, 3, 2},
		"flute/head":         {48, 0.5, 9.2, 0, 0, 1, 1},
		"flute/body":         {99, 0.5, 9.5, 12, 13, 0, 2},
		"flute/foot":         {39, 0.5, 9.5, 3, 3, 0, 2},
		"bassoon/wing":       {56, 0.5, 6.3, 5, 7, 3, 2},
		"bassoon/boot":       {290, 1, 11, 10, 11, 2, 2},
		"bassoon/bass":       {441, 1, 15.7, 4, 5, 0, 2},
		"bassoon/bell":       {362, 1, 19, 1, 1, 0, 2},
		"alto-sax/neck":      {52, 0.5, 9.5, 1, 1, 0, 2},
		"alto-sax/body":      {2000, 10, 0, 24, 24, 0, 2}, // 1290 to the bell's throat, see below
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			j := joint(t, c, name)
			v, err := j.Volume()
			require.NoError(t, err)
			assert.InDelta(t, want.volume, v.Value*1e6, want.within)
			assert.InEpsilon(t, 0.15/math.Sqrt(3), v.U/v.Value, 1e-9, "±15 %, a rectangle")
			if want.radius > 0 {
				assert.InEpsilon(t, want.radius, float64(j.HeatDiameter())*500, 0.07, "the published one may be another mean")
			}
			assert.GreaterOrEqual(t, len(j.Seats), want.fewest)
			assert.LessOrEqual(t, len(j.Seats), want.most)
			assert.Len(t, j.Holes, want.holes)
			assert.Len(t, j.DefaultClosure().Stopper, want.stoppered)
		})
	}
	var joints int
	for _, i := range c.Instruments() {
		joints += len(i.Joints)
	}
	assert.Equal(t, 16, joints, "every joint is in the table above")
}

func TestASaxophoneToTheThroatOfItsBellHasTheVolumeOfTubeAndBow(t *testing.T) {
	t.Parallel()
	body := joint(t, templates(t), "alto-sax/body")
	k := slices.IndexFunc(body.Sections, func(s catalog.Section) bool { return s.Name == "to the bell's throat" })
	require.GreaterOrEqual(t, k, 0)
	v, err := body.SectionVolume(body.Sections[k])
	require.NoError(t, err)
	assert.InDelta(t, 1290, v.Value*1e6, 2, "734 + 555 ml, computed from the typical profile")
	assert.Len(t, body.SeatsIn(body.Sections[k]), 22, "all but low B and low B♭")
}

func TestClarinetAndSaxophoneHaveAllTheirToneHoles(t *testing.T) {
	t.Parallel()
	count := map[string]int{}
	for _, i := range templates(t).Instruments() {
		for _, j := range i.Joints {
			count[i.Name] += len(j.Seats) + len(j.Holes)
		}
	}
	assert.Equal(t, 24, count["clarinet"], "17 pads and 7 finger holes; general clarinet page: about 24")
	assert.Equal(t, 25, count["alto-sax"], "saxophone reference site: tone holes 1 to 22, vents 23 and 24, high F♯ 25")
}

// Reading sorts seats, so the order is looked for in the files themselves.
func TestPositionsRiseInTheTemplatesAsTheyAreWritten(t *testing.T) {
	t.Parallel()
	files, err := filepath.Glob("template/*.toml")
	require.NoError(t, err)
	require.Len(t, files, 6)
	jointHead := regexp.MustCompile(`(?m)^\[\[joint\]\]$`)
	seat := regexp.MustCompile(`name = "([^"]+)", at = "([0-9.]+) mm", hole`)
	seats := 0
	for _, f := range files {
		text, err := os.ReadFile(f)
		require.NoError(t, err)
		for _, part := range jointHead.Split(string(text), -1)[1:] {
			last := -1.0
			for _, m := range seat.FindAllStringSubmatch(part, -1) {
				at, err := strconv.ParseFloat(m[2], 64)
				require.NoError(t, err)
				assert.Greater(t, at, last, "%s: seat %q", f, m[1])
				last = at
				seats++
			}
		}
	}
	assert.Equal(t, 119, seats, "every seat was looked at")
}

func TestSectionsOfATemplateLeaveNoSeatOut(t *testing.T) {
	t.Parallel()
	for _, i := range templates(t).Instruments() {
		for _, j := range i.Joints {
			if len(j.Sections) == 0 {
				continue
			}
			var in []string
			for _, s := range j.Sections {
				in = append(in, j.SeatsIn(s)...)
			}
			assert.Len(t, in, len(j.Seats), "%s/%s: each seat in one section", i.Name, j.Name)
		}
	}
}

func TestEveryValueOfATemplateSaysWhereItComesFrom(t *testing.T) {
	t.Parallel()
	published := 0
	for _, i := range templates(t).Instruments() {
		for _, j := range i.Joints {
			s, err := catalog.NewSheet(i, j)
			require.NoError(t, err)
			all := []catalog.Sources{s.Sources}
			for _, x := range s.Bore {
				all = append(all, x.Sources)
			}
			for _, x := range s.Ends {
				all = append(all, x.Sources)
			}
			for _, x := range s.Sections {
				all = append(all, x.Sources)
			}
			for _, x := range s.Holes {
				all = append(all, x.Sources)
			}
			for _, x := range s.Seats {
				all = append(all, x.Sources)
			}
			for _, sources := range all {
				for key, source := range sources {
					assert.Regexp(t, `^(starting value|published: .{10,})$`, source, "%s: %s", s.Name, key)
					if source != "starting value" {
						published++
					}
				}
			}
		}
	}
	assert.Greater(t, published, 10)
}

func TestTheJointsThatAreWantedByNameAreThere(t *testing.T) {
	t.Parallel()
	c := templates(t)
	for _, name := range []string{"oboe/upper", "oboe/lower", "english-horn/upper", "clarinet/upper", "flute/body", "bassoon/wing", "alto-sax/body"} {
		joint(t, c, name)
	}
	_, _, err := c.Joint("oboe/middle")
	require.EqualError(t, err, `no joint "middle" of oboe in the catalog: want one of upper, lower, bell`)
	_, _, err = c.Joint("oboe")
	require.ErrorContains(t, err, "want INSTRUMENT/JOINT")
	_, err = c.Instrument("hautbois")
	require.ErrorContains(t, err, "want one of alto-sax, bassoon, clarinet, english-horn, flute, oboe")
}

func TestAJointIsHeldWithWhatStandsOpenPressed(t *testing.T) {
	t.Parallel()
	closure := joint(t, templates(t), "flute/body").DefaultClosure()
	assert.Equal(t, []string{"D# trill", "D trill", "G#"}, closure.Rest)
	assert.Len(t, closure.Press, 10)
	assert.Empty(t, closure.Plug)
	assert.Equal(t, []string{"head socket", "foot tenon"}, closure.Stopper)
}

func TestTemplatesStayAsTheyAreWhateverIsDoneToACopy(t *testing.T) {
	one, err := catalog.Templates()
	require.NoError(t, err)
	spoilt := one.Instruments()
	spoilt[0].Joints[0].Name = "spoilt"
	again, err := catalog.Templates()
	require.NoError(t, err)
	assert.NotEqual(t, "spoilt", again.Instruments()[0].Joints[0].Name)
}
