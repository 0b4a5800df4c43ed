package motion

import (
	"math/rand/v2"
	"testing"

	"padside/flight"
	"padside/metrology"
)

// A ball of foam of 10 to 12 cm and 20 to 40 g falls as slowly for the air that it pushes aside as for
// its drag: 1.5 to 5 % (package flight; H. Lamb, Hydrodynamics, article 92). At least 25 of 30
// intervals hold gravity (with a true coverage of 95 % fewer have a probability of 0.3 %, binomial).
func TestLightBallsFallUnderGravity(t *testing.T) {
	t.Parallel()
	const drops, least = 30, 25
	held := 0
	for seed := range uint64(drops) {
		r := rand.New(rand.NewPCG(seed, 78))
		f, err := flight.Drop{Mass: 0.02 + 0.02*r.Float64(), Diameter: 0.1 + 0.02*r.Float64(), DragCoefficient: 0.42 + 0.1*r.Float64(),
			Height: 3, Site: flight.StandardSite()}.Fly()
		if err != nil {
			t.Fatal(err)
		}
		const rate, noise = 240, 0.2e-3
		in := Input{Lane: 1, Seed: seed, Kind: Dropped, Questions: Questions{DropCheck: true, Gravity: metrology.Estimate{Value: flight.StandardGravity, U: 0.001}}}
		for i := range 20 + int(f.End*rate) - 4 {
			at := (float64(i) - 20.3) / rate
			in.Observations = append(in.Observations, Observation{Frame: i, T: float64(i) / rate, H: f.At(at).Height + noise*r.NormFloat64(), U: noise})
		}
		a, _, _ := in.freeFall(in.Observations, fewestDraws)
		if a.Status == metrology.Measured && a.Interval[0] <= flight.StandardGravity && flight.StandardGravity <= a.Interval[1] {
			held++
		}
	}
	if held < least {
		t.Errorf("%d of %d intervals hold gravity, want at least %d", held, drops, least)
	}
}
