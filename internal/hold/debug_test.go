package hold

import (
	"fmt"
	"math/rand/v2"
	"os"
	"strconv"
	"testing"

	"boretight/internal/gauge/sim"
)

func TestDebug(t *testing.T) {
	fam, _ := sim.FamilyNamed(os.Getenv("FAM"))
	i, _ := strconv.Atoi(os.Getenv("IDX"))
	random := rand.New(rand.NewPCG(1, uint64(i)+1))
	s := fam.Draw(random)
	tr, truths, _ := s.Run()
	fmt.Printf("%+v\n%+v\n%+v\n", s.Holds, truths, s.Sensor)
	f := NewFinder(tr.Kind)
	show := func(es []Event) {
		for _, e := range es {
			fmt.Printf("%d %v %.3f", e.Kind, e.Phase, e.T.Seconds())
			if e.Hold != nil {
				fmt.Printf(" ended %v held %v iso %.3f after %v noise %.2f", e.Hold.Ending, e.Hold.Held, e.Hold.Isolation, e.Hold.After, e.Hold.Noise)
			}
			fmt.Println()
		}
	}
	for _, r := range tr.Readings {
		es := f.Push(r)
		if os.Getenv("BLK") != "" && len(f.blocks) > 0 {
			k := len(f.blocks) - 1
			fmt.Printf("t %.3f p %.1f d %.1f %v noise %.2f level %.2f peak %.0f prog %d flat %d k %d low %d\n", f.blocks[k].t, f.blocks[k].p, f.delta(k), f.phase, f.noise, f.level, f.peak, f.progress, f.flat, k, f.lowSince)
		}
		show(es)
	}
	show(f.Close())
}
