package hold_test
import ("testing";"fmt";"boretight/internal/gauge/sim";"boretight/internal/hold")
func TestZZ(t *testing.T){
	for _, size := range []float64{-300,-150,-100, -60, 60,100,150, 300} { for _, tau := range []float64{25,40,100} {
		s := oboe(tau, sim.Suction)
		s.Events.Bumps = []sim.Bump{{At: 3, Seconds: 0.2, Volume: size / 101_325 * s.Joint.Volume()}}
		tr, tt := run(t, s)
		for _,h:=range hold.Find(tr){ fmt.Println(size,tau,tt[0].Isolated,h.Ending,h.Isolation,h.Duration(),h.Draw,h.Held,len(h.Readings)) }
	}}
	s := oboe(25, sim.Suction)
	s.Holds = append(s.Holds, s.Holds[0])
	tr, truths := run(t, s)
	h := one(t, without(tr, 0, truths[0].Isolated+2))
	fmt.Println(truths[0].Vented,h.RestLevel,h.Noise,h.Readings[h.Before.From],h.Before)
}
