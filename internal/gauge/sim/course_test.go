package sim

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A limit of 2.5 sccm lies far below, at and far above what the three stages leak.
func TestTheRepairedJointLeaksLessFromStageToStage(t *testing.T) {
	t.Parallel()
	p, err := programNamed("oboe-repair")
	require.NoError(t, err)
	var leaks []float64
	for loop := range 21 {
		s := p.scenario(1, loop, nil)
		leaks = append(leaks, throughput(s)/(sccm*s.Air.Temperature/celsius20))
	}
	for loop, want := range []float64{3.6, 3.6, 3.6, 2.5, 2.5, 2.5, 1.8, 1.8, 1.8, 3.6, 3.6, 3.6, 2.5, 2.5, 2.5, 1.8, 1.8, 1.8, 3.6, 3.6, 3.6} {
		assert.InEpsilon(t, want, leaks[loop], 0.021, "loop %d", loop)
	}
	other, err := programNamed("oboe-upper")
	require.NoError(t, err)
	for loop := range 8 {
		assert.Equal(t, 1.0, other.stage(loop, nil), "a joint that nobody works on stays as it is")
	}
}
