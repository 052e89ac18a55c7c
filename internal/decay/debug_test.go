package decay

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"strconv"
	"testing"

	"boretight/internal/gauge/sim"
	"boretight/internal/hold"
)

func TestDebug(t *testing.T) {
	fam, _ := sim.FamilyNamed(os.Getenv("FAM"))
	i, _ := strconv.Atoi(os.Getenv("IDX"))
	random := rand.New(rand.NewPCG(1, uint64(i)+1))
	s := fam.Draw(random)
	if os.Getenv("CLEAN") != "" {
		s.Sensor.Noise, s.Sensor.Correlated, s.Sensor.Drift, s.Sensor.Step, s.Sensor.Wander = 1e-3, 0, 0, 0, 0
		s.Air.AmbientDrift, s.Air.WallDrift = 0, 0
	}
	tr, truths, _ := s.Run()
	h := hold.Find(tr)[0]
	tt := truths[0]
	fmt.Printf("truth q %.4g r %.4g s %.3f tau %.2f iso %.3f found %.3f drift %g wall %g amb %g draw %+v\n", tt.LeakRate, tt.LeakRate/tt.Volume, tt.InertialShare, tt.TimeConstant, tt.Isolated, h.Isolation, s.Sensor.Drift, s.Air.WallDrift, s.Air.AmbientDrift, s.Holds[0])
	fmt.Printf("sensor %+v segs %+v\n", s.Sensor, s.Joint)
	k := complete(h, Setup{Volume: Input{tt.Volume, 0.01 * tt.Volume}, Bore: Input{2 * tt.Bore, 0}, Ambient: Input{tt.Ambient, 100}, Temperature: Input{tt.Temperature, .5}, At: 2500})
	f := newFitter(newData(h, h.Held), k)
	ok := f.run()
	fmt.Println(ok, f.sol.stop, f.sol.steps, "sum", f.sol.sum, "bins", len(f.d.held), len(f.d.before), len(f.d.after), "nodes", f.m.nodes, "hist", len(f.d.history))
	fmt.Printf("taus %.4g\n", f.m.heat.taus)
	if os.Getenv("REST") != "" {
		for _, b := range append(append([]bin{}, f.d.before...), f.d.after...) {
			fmt.Printf("rest t %.3f y %.3f n %.0f extra %.3f\n", b.t, b.y, b.n, b.extra)
		}
		i := 0
		for _, b := range f.d.held {
			fmt.Printf("held t %.3f y %.3f res %.3f\n", b.t, b.y, f.sol.r[i]/f.inv[i])
			i++
		}
	}
	fmt.Printf("noise %+v infl %.2f quantum %g\n", f.noise, f.noise.inflation(), f.d.quantum)
	pr := f.problem()
	g, _ := atMinimum(f.sol, pr.rows, pr.cols)
	for j, n := range []string{"rate", "share", "start", "bore", "taper", "narrow", "c2", "c12", "zero", "drift"} {
		fmt.Printf("%6s MAP %.5g ± %.3g  post %.5g ± %.3g\n", n, g.mean[j], math.Sqrt(g.cov[j*nAll+j]), f.post.mean[j], math.Sqrt(f.post.cov[j*nAll+j]))
	}
	if os.Getenv("GIBBS") != "" {
		gibbs(g, []bound{{pShare, 0, 1}, {pTaper, 0, 0.6}, {pNarrow, 0, 1}, {pCreep, 0, math.Inf(1)}, {pCreep + 1, 0, math.Inf(1)}}, 2000000)
	}
	res := f.residuals()
	for b := 0; b < 10; b++ {
		n := len(res) / 10
		var m float64
		for _, v := range res[b*n : (b+1)*n] {
			m += v / float64(n)
		}
		fmt.Printf("%.3f ", m)
	}
	fmt.Println()
}
