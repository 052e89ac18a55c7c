package gauge_test

import (
	"errors"
	"testing"
	"testing/synctest"

	"github.com/stretchr/testify/assert"

	"boretight/internal/gauge"
)

func TestPortsWithANameOnlyAreListedToo(t *testing.T) {
	known := []gauge.Port{{Device: "/dev/cu.one", USB: true, VID: "1a86"}}
	got := gauge.WithNames(known, []string{"/dev/cu.two", "/dev/cu.one"})
	assert.Equal(t, []gauge.Port{known[0], {Device: "/dev/cu.two"}}, got)
}

func TestAPortIsThereWhereThatCannotBeTold(t *testing.T) {
	fails := func() ([]gauge.Port, error) { return nil, errors.New("the registry is shut") }
	assert.True(t, gauge.IsListed(fails, "COM5"))
	lists := func() ([]gauge.Port, error) { return []gauge.Port{{Device: "COM5"}}, nil }
	assert.True(t, gauge.IsListed(lists, "COM5"))
	assert.False(t, gauge.IsListed(lists, "COM6"))
}

func TestAQuietPortThatIsNoLongerThereEnds(t *testing.T) {
	for _, c := range []struct {
		name         string
		seen, exists bool
		ends         bool
	}{
		{"one that is there", true, true, false},
		{"one that has vanished", true, false, true},
		{"one that was on no list from the start", false, false, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				p := gauge.QuietPort(newScript(0), c.seen, func() bool { return c.exists })
				var err error
				for range 20 {
					if _, err = p.Read(make([]byte, 1)); err != nil {
						break
					}
				}
				if c.ends {
					assert.EqualError(t, err, "the port is no longer there")
				} else {
					assert.NoError(t, err)
				}
			})
		})
	}
}
