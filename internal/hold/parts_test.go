package hold_test

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/gauge/sim"
	"boretight/internal/hold"
	"boretight/internal/trace"
)

func TestAHoldIsAssembledFromItsPartsAsItWas(t *testing.T) {
	t.Parallel()
	random := rand.New(rand.NewPCG(1, 9))
	for _, family := range sim.Families() {
		s := family.Draw(random)
		if !family.Disturbed {
			s.Holds = slices.Repeat(s.Holds[:1], 2)
		}
		recording, _, err := s.Run()
		require.NoError(t, err)
		holds := hold.Find(recording)
		require.NotEmpty(t, holds, family.Name)
		for _, h := range holds {
			text, err := json.Marshal(h.Parts())
			require.NoError(t, err)
			var p hold.Parts
			require.NoError(t, json.Unmarshal(text, &p))
			again, err := hold.Assemble(recording, p)
			require.NoError(t, err)
			if math.IsNaN(h.Isolation) && math.IsNaN(again.Isolation) {
				h.Isolation, again.Isolation = 0, 0
			}
			assert.Equal(t, h, again, family.Name)
		}
	}
}

func TestPartsThatAreNotOfTheReadingsAreRefused(t *testing.T) {
	t.Parallel()
	readings := make([]trace.Reading, 100)
	for i := range readings {
		readings[i].T = time.Duration(i) * 10 * time.Millisecond
	}
	good := hold.Parts{From: readings[10].T, Readings: 80, Sign: hold.Suction, Draw: 30, Before: [2]int{0, 30}, Held: [2]int{40, 70}, After: [2]int{75, 80}}
	tr := trace.Trace{Readings: readings}
	_, err := hold.Assemble(tr, good)
	require.NoError(t, err)
	for want, spoil := range map[string]func(p *hold.Parts){
		"none of 100 readings is of":    func(p *hold.Parts) { p.From++ },
		"it has 91 readings, there are": func(p *hold.Parts) { p.Readings = 91 },
		"it has 0 readings":             func(p *hold.Parts) { p.Readings = 0 },
		"its draw at 80":                func(p *hold.Parts) { p.Draw = 80 },
		"its draw at -1":                func(p *hold.Parts) { p.Draw = -1 },
		"the stretch from 40 to 81":     func(p *hold.Parts) { p.Held[1] = 81 },
		"the stretch from -1 to 30":     func(p *hold.Parts) { p.Before[0] = -1 },
		"the stretch from 80 to 75":     func(p *hold.Parts) { p.After = [2]int{80, 75} },
	} {
		p := good
		spoil(&p)
		_, err := hold.Assemble(tr, p)
		assert.ErrorContains(t, err, want)
	}
	var e hold.Ending
	assert.ErrorContains(t, e.UnmarshalText([]byte("faded")), `"faded" is no ending`)
}
