package gauge_test

import (
	"context"
	"fmt"
	"os"
	"testing"

	"go.uber.org/goleak"

	"boretight/internal/gauge"
)

// openOnly makes the test binary open one gauge, print the error and exit: some
// faults show only to another process or another user.
const openOnly = "BORETIGHT_TEST_OPEN"

func TestMain(m *testing.M) {
	if address := os.Getenv(openOnly); address != "" {
		fmt.Println(runOnce(address))
		return
	}
	goleak.VerifyTestMain(m)
}

func runOnce(address string) error {
	a, err := gauge.ParseAddress(address)
	if err != nil {
		return err
	}
	g, err := gauge.Open(a, gauge.Options{})
	if err != nil {
		return err
	}
	return g.Run(context.Background(), &recorder{})
}
