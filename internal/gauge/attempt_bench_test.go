package gauge_test

import (
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"boretight/internal/gauge"
)

// BenchmarkAnAttemptAtAMissingPort is what a bench without its gauge does once a second.
func BenchmarkAnAttemptAtAMissingPort(b *testing.B) {
	a, err := gauge.ParseAddress("serial:" + filepath.Join(b.TempDir(), "ttyUSB7"))
	require.NoError(b, err)
	g, err := gauge.Open(a, gauge.Options{})
	require.NoError(b, err)
	sink := newRecorder()
	b.ReportAllocs()
	for b.Loop() {
		if g.Run(b.Context(), sink) == nil {
			b.Fatal("there is no such port")
		}
	}
}

// BenchmarkAListOfThePorts is what looking for a gauge costs when a device has come or
// gone.
func BenchmarkAListOfThePorts(b *testing.B) {
	for b.Loop() {
		_, err := gauge.SerialPorts()
		require.NoError(b, err)
	}
}
