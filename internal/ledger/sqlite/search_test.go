package sqlite_test

import (
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/ledger"
	"boretight/internal/tools/ledgermaker/shop"
)

func TestEverySearchFindsTheSameHoweverFrequentItsWordsAre(t *testing.T) {
	path := filepath.Join(t.TempDir(), "ledger")
	require.NoError(t, shop.Make(t.Context(), path, 1800, 7, time.Now()))
	db := opened(t, path)
	some := 0
	for _, words := range []string{"bel", "bel cor", "m fail", "a b", "1 2", "oboe fail", "oboe a pass", "t-1 m", "t-12 a", "as_left lum", "0999 bel t-1", "nobody a"} {
		for _, trials := range []bool{false, true} {
			f := ledger.Filter{Search: words, Limit: 60}
			want, err := db.Found(t.Context(), trials, f, 1<<20, 1<<20) // by tickets
			require.NoError(t, err)
			some += len(want)
			for _, bounds := range [][2]int{{0, 0}, {5, 20}, {5, 1 << 20}, {40, 60}, {100, 1 << 20}} {
				got, err := db.Found(t.Context(), trials, f, bounds[0], bounds[1])
				require.NoError(t, err)
				assert.Equal(t, want, got, "%q, trials %t, rare %d, frequent %d", words, trials, bounds[0], bounds[1])
			}
		}
	}
	assert.Greater(t, some, 300, "the searches find something")
}
