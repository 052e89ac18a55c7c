package gauge_test

import (
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"

	"boretight/internal/gauge"
)

func TestAPortAtWhichNobodySaidANameIsTriedAgainAfterAWhile(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		var r gauge.Refusals
		r.Refuse("named", "HX-9999")
		r.Refuse("nameless", "")
		time.Sleep(gauge.NamelessFor - time.Nanosecond)
		assert.True(t, r.Stands("nameless"))
		time.Sleep(time.Nanosecond)
		assert.False(t, r.Stands("nameless"))
		assert.True(t, r.Stands("named"), "a gauge that said its name remains another")
	})
}
