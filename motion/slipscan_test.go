package motion

import (
	"slices"
	"testing"

	"padside/flight"
)

// A bottle whose water is gone on the way leaves no cubic that fits: its scatter says nothing of how
// well neighbours agree elsewhere. A frame that is lost before the last one seen is suspected all the
// same.
func TestLossBeforeTheLastFrameIsSuspected(t *testing.T) {
	t.Parallel()
	f, err := flight.Bottle{Volume: 1e-3, Water: 0.3e-3, Pressure: 6e5, NozzleDiameter: 15e-3, DryMass: 0.12,
		BodyDiameter: 0.085, DragCoefficient: 0.4, Exponent: 1.3, Site: flight.StandardSite()}.Fly()
	if err != nil {
		t.Fatal(err)
	}
	for seed := range uint64(6) {
		in := film(f, 240, 2e-4, 9, 13, seed)
		in.Interval = 1. / 240
		last := len(in.Observations) - 1
		in.Observations = slices.Delete(in.Observations, last-2, last) // two that were not followed
		last -= 2
		in.Observations[last].T -= in.Interval // and one that was not stored
		in.Observations[last].Frame--
		c := newClocks(&in, newSeries(in.Observations, &in), effortFor(13))
		if got := c.suspects(in.Observations); !slices.Contains(got, slip{at: last, lost: 1}) {
			t.Errorf("seed %d: a frame lost before observation %d is not among the suspects %v", seed, last, got)
		}
	}
}
