package ledger_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/ledger"
	"boretight/internal/quantity"
)

func limit(t *testing.T, joint string, at float64, sign, rate string) ledger.Record {
	t.Helper()
	r, err := quantity.ParseLeakRate(rate)
	require.NoError(t, err)
	content, err := ledger.Canonical(ledger.Limit{ID: ledger.NewID(), Joint: joint, At: at, Sign: sign, Rate: r})
	require.NoError(t, err)
	return ledger.Record{Kind: ledger.LimitSet, Content: content}
}

func TestTheNewestLimitOfAJointAtADifferenceAndSignCounts(t *testing.T) {
	t.Parallel()
	all, err := ledger.LimitsInForce([]ledger.Record{
		limit(t, "oboe/upper", 2500, "suction", "2.5 sccm"),
		limit(t, "oboe/upper", 2500, "pressure", "3 sccm"),
		limit(t, "flute/body", 2500, "suction", "4e-3 Pa.m3/s"),
		{Kind: ledger.NoteMade, Content: []byte("no limit")},
		limit(t, "oboe/upper", 2500.0000001, "suction", "1.5 sccm"),
		limit(t, "oboe/upper", 1000, "suction", "1 sccm"),
	})
	require.NoError(t, err)
	var got []string
	for _, l := range all {
		got = append(got, l.Joint+" "+l.Sign+" "+l.Rate.String())
	}
	assert.Equal(t, []string{
		"flute/body suction 0.004 Pa·m³/s", "oboe/upper suction 1 sccm", "oboe/upper suction 1.5 sccm", "oboe/upper pressure 3 sccm",
	}, got)
	whole := all[2]
	for name, change := range map[string]func(*ledger.Limit){
		"joint": func(l *ledger.Limit) { l.Joint = "oboe/lower" }, "section": func(l *ledger.Limit) { l.Section = "bell" },
		"closure": func(l *ledger.Limit) { l.Closure = "G pressed" }, "sign": func(l *ledger.Limit) { l.Sign = "pressure" },
		"pressure difference": func(l *ledger.Limit) { l.At = 1000 },
	} {
		other := whole
		assert.True(t, whole.Same(other))
		change(&other)
		assert.False(t, whole.Same(other), name)
	}

	_, err = ledger.LimitsInForce([]ledger.Record{{Kind: ledger.LimitSet, Content: []byte("{")}})
	assert.ErrorIs(t, err, ledger.ErrDamaged)
}
