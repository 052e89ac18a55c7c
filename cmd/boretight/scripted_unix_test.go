//go:build unix

package main

import (
	"context"
	"io"
	"path/filepath"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/gauge/sim"
)

// scriptedGauge is a gauge at a serial port that sees what a test puts before it.
type scriptedGauge struct {
	address string

	mu      sync.Mutex
	waiting []scripted
	idle    sim.Idle
	current chan struct{} // closed when the scene that plays is over; nil while it idles
}

type scripted struct {
	scene  sim.Scene
	played chan struct{}
}

// newScriptedGauge plugs a gauge in until the test ends. Its day passes speed times
// faster than ours, on its own clock it is right.
func newScriptedGauge(t *testing.T, serial string, sensor sim.Sensor, speed float64) *scriptedGauge {
	t.Helper()
	link := filepath.Join(t.TempDir(), "gauge")
	g := &scriptedGauge{address: "serial:" + link}
	device := sim.Script{Serial: serial, Sensor: sensor, Seed: 1, Speed: speed, Next: g.next}.Open()
	ctx, unplug := context.WithCancel(context.Background())
	out, in := io.Pipe()
	ended := make(chan error, 1)
	go func() { ended <- carry(ctx, app{out: in}, device, link) }()
	t.Cleanup(func() {
		unplug()
		assert.NoError(t, <-ended)
	})
	_, err := out.Read(make([]byte, 1024)) // the link's name, once it is there
	require.NoError(t, err)
	return g
}

// play puts a scene before the gauge, behind those that wait. The channel is closed once
// all of it has been sent.
func (g *scriptedGauge) play(scene sim.Scene) (played <-chan struct{}) {
	g.mu.Lock()
	defer g.mu.Unlock()
	s := scripted{scene, make(chan struct{})}
	g.waiting = append(g.waiting, s)
	return s.played
}

// next is what the gauge sees now: the next scene, or else the level that the last column
// was left at.
func (g *scriptedGauge) next() sim.Scene {
	g.mu.Lock()
	defer g.mu.Unlock()
	if g.current != nil {
		close(g.current)
		g.current = nil
	}
	if len(g.waiting) == 0 {
		return g.idle
	}
	now := g.waiting[0]
	g.waiting, g.current = g.waiting[1:], now.played
	if column, ok := now.scene.(sim.WaterColumn); ok {
		g.idle = sim.Idle(column)
		g.idle.From = column.Levels[len(column.Levels)-1].Height
	}
	return now.scene
}
