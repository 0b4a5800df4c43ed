package explain

import (
	"context"
	"errors"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"padside/camera"
	"padside/fault"
	"padside/flight"
	"padside/motion"
)

// heron is an invented bottle; its values are the truth of these tests.
func heron() flight.Bottle {
	return flight.Bottle{Volume: 1.25e-3, Water: 0.4e-3, Pressure: 5e5, NozzleDiameter: 12e-3, DryMass: 0.14, BodyDiameter: 0.085,
		DragCoefficient: 0.4, Exponent: 1.28, Discharge: 0.96, Site: flight.StandardSite()}
}

// model lets the unknowns named set the bottle.
func model(keys ...string) Model {
	return func(_ int, v []float64, until float64) (*flight.Flight, error) {
		b := heron()
		for i, k := range keys {
			switch k {
			case "discharge":
				b.Discharge = v[i]
			case "exponent":
				b.Exponent = v[i]
			case "pressure":
				b.Pressure = v[i]
			case "drag_coefficient":
				b.DragCoefficient = v[i]
			}
		}
		return b.FlyUntil(until)
	}
}

var (
	discharge = Unknown{Key: "discharge", Start: 0.9, Least: 0.3, Most: 1.2}
	exponent  = Unknown{Key: "exponent", Start: 1.4, Least: 0.9, Most: 1.6}
	pressure  = Unknown{Key: "pressure", Start: 4.5e5, Least: 1e5, Most: 1e6}
)

const frameNoise = 2e-4 // m

// filmed is a trace of a flight at 1600 per second up to top (m), first motion at 20.3 ms, errors of scale (sd, relative) and clock common to
// all of it.
func filmed(t testing.TB, b flight.Bottle, seed uint64, top, scale float64) Launch {
	f, err := b.Fly()
	if err != nil {
		t.Fatal(err)
	}
	r := rand.New(rand.NewPCG(seed, 11))
	const rateU = 1e-4
	e, clock := scale*r.NormFloat64(), 1+rateU*r.NormFloat64()
	l := Launch{Common: motion.Common{RateU: rateU}}
	if scale > 0 {
		l.Common.Sources = []string{"scale"}
		l.Common.Warp = func(r, _ *rand.Rand, _ string) camera.Warp {
			return camera.Warp{E: [3]float64{scale * r.NormFloat64()}}
		}
	}
	for i := 0; ; i++ {
		at := float64(i) / 1600
		h := f.At((at - 0.0203) * clock).Height
		if h > top || i > 600 {
			return l
		}
		u := frameNoise * (0.7 + 0.6*float64(i%5)/4)
		l.Observations = append(l.Observations, motion.Observation{Frame: i, T: at, H: (h + u*r.NormFloat64()) / (1 + e), U: u / 1.3})
	}
}

// TestRunFindsTheTruth: two unknowns and a stated pressure, within four standard uncertainties each, and the residuals look like noise.
func TestRunFindsTheTruth(t *testing.T) {
	t.Parallel()
	known := pressure
	known.Start, known.U = 5e5, 5e3
	res, err := Run(context.Background(), Input{Launches: []Launch{filmed(t, heron(), 3, 2, 0.004)}, Unknowns: []Unknown{discharge, exponent, known},
		Model: model("discharge", "exponent", "pressure"), Seed: 1})
	if err != nil {
		t.Fatal(err)
	}
	for j, want := range []float64{0.96, 1.28, 5e5} {
		if f := res.Fitted[j]; math.Abs(f.Value-want) > 4*f.U || !(f.U > 0) || f.U > 0.1*want {
			t.Errorf("%s = %.5g, u %.2g, want %.5g", res.Unknowns[j].Key, f.Value, f.U, want)
		}
		t.Logf("%s %.5g u %.2g %v", res.Unknowns[j].Key, res.Fitted[j].Value, res.Fitted[j].U, res.Fitted[j].Budget)
	}
	l := res.Launches[0]
	if math.Abs(l.FirstMotion-0.0203) > 4*l.FirstMotionU || l.FirstMotionU > 1e-3 {
		t.Errorf("first motion %.5f s, u %.2g, want 0.0203 s", l.FirstMotion, l.FirstMotionU)
	}
	if x := res.Test; !x.Fits || x.SmoothProbability < 1e-3 || x.Noise < frameNoise/2 || x.Noise > 2*frameNoise {
		t.Errorf("residual test %+v", x)
	}
	t.Logf("%+v", res.Test)
	if len(res.Warnings) > 0 {
		t.Errorf("warnings: %v", res.Warnings)
	}
}

// TestSlowErrors: heights in flight that wander together by three times a frame's noise are allowed for, and widen the intervals.
func TestSlowErrors(t *testing.T) {
	t.Parallel()
	l := filmed(t, heron(), 8, 2, 0)
	for i := range l.Observations {
		if o := &l.Observations[i]; o.T > 0.0203 {
			o.H += 3 * frameNoise * math.Sin((o.T-0.0203)*150)
		}
	}
	in := Input{Launches: []Launch{l}, Unknowns: []Unknown{discharge, exponent}, Model: model("discharge", "exponent"), Seed: 1}
	doubt(in.Launches[0].Observations, 3*frameNoise)
	res, err := Run(context.Background(), in)
	if err != nil {
		t.Fatal(err)
	}
	if f := res.Fitted[1]; !res.Test.Fits || math.Abs(f.Value-1.28) > 3*f.U || f.U < 0.005 {
		t.Errorf("exponent %.4f, u %.4f, %+v", f.Value, f.U, res.Test)
	}
	doubt(in.Launches[0].Observations, frameNoise/5) // a trace that promises more than it keeps: the model gets the blame
	if res, err = Run(context.Background(), in); err != nil || res.Test.Fits {
		t.Errorf("slow errors beyond what the trace states pass: %+v, %v", res.Test, err)
	}
}

// doubt states correlated errors of standard uncertainty u in flight.
func doubt(obs []motion.Observation, u float64) {
	for i := range obs {
		if obs[i].T > 0.0203 {
			obs[i].DoubtU = u
		}
	}
}

// TestTangled: pressure and discharge both free, on the first decimetres of the flight, are not told apart, and that is said.
func TestTangled(t *testing.T) {
	t.Parallel()
	res, err := Run(context.Background(), Input{Launches: []Launch{filmed(t, heron(), 4, 1, 0)}, Unknowns: []Unknown{discharge, pressure},
		Model: model("discharge", "pressure"), Seed: 1})
	if err != nil {
		t.Fatal(err)
	}
	said := ""
	for _, w := range res.Warnings {
		said += w.Code + ": " + w.Message + "\n"
	}
	t.Logf("discharge %.4f u %.4f, pressure %.3g u %.2g, correlation %.4f", res.Fitted[0].Value, res.Fitted[0].U, res.Fitted[1].Value, res.Fitted[1].U, res.Correlation[0][1])
	if c := res.Correlation[0][1]; c > -0.9 || !strings.Contains(said, "cannot-tell-apart") || !strings.Contains(said, "What it does tell is discharge times pressure") {
		t.Errorf("correlation %.3f, said:\n%s", c, said)
	}
}

// TestLoose: with pressure, discharge, exponent and drag free on 0.4 m of the flight, each interval is as wide as it must be and holds the truth.
func TestLoose(t *testing.T) {
	t.Parallel()
	drag := Unknown{Key: "drag_coefficient", Start: 0.4, Least: 0, Most: 2}
	res, err := Run(context.Background(), Input{Launches: []Launch{filmed(t, heron(), 4, 0.4, 0.004)}, Unknowns: []Unknown{discharge, pressure, drag, exponent},
		Model: model("discharge", "pressure", "drag_coefficient", "exponent"), Seed: 1})
	if err != nil {
		t.Fatal(err)
	}
	for j, want := range []float64{0.96, 5e5, 0.4, 1.28} {
		if f := res.Fitted[j]; math.Abs(f.Value-want) > 3*f.U {
			t.Errorf("%s = %.5g, u %.2g, want %.5g", res.Unknowns[j].Key, f.Value, f.U, want)
		}
	}
	for j, told := range []bool{false, true, false, true} {
		if res.Fitted[j].Told != told {
			t.Errorf("%s told: %v", res.Unknowns[j].Key, res.Fitted[j].Told)
		}
	}
}

// TestMisfit: a bottle on a launch tube, explained without one, is caught.
func TestMisfit(t *testing.T) {
	t.Parallel()
	b := heron()
	b.Tube = &flight.Tube{Length: 0.04, Diameter: 11e-3}
	res, err := Run(context.Background(), Input{Launches: []Launch{filmed(t, b, 5, 2, 0.003)}, Unknowns: []Unknown{discharge, exponent},
		Model: model("discharge", "exponent"), Seed: 1})
	if err != nil {
		t.Fatal(err)
	}
	if res.Test.Fits || res.Warnings[0].Code != "does-not-fit" {
		t.Errorf("a launch tube that the model lacks passes: %+v", res.Test)
	}
}

// TestImpossible: with a dry mass mistaken by far, only a discharge beyond all nozzles would fit, and that is said by name.
func TestImpossible(t *testing.T) {
	t.Parallel()
	heavy := func(launch int, v []float64, until float64) (*flight.Flight, error) {
		b := heron()
		b.Discharge, b.DryMass = v[0], 0.25
		return b.FlyUntil(until)
	}
	only := discharge
	only.Most = 1
	res, err := Run(context.Background(), Input{Launches: []Launch{filmed(t, heron(), 9, 2, 0)}, Unknowns: []Unknown{only}, Model: heavy, Seed: 1})
	if err != nil {
		t.Fatal(err)
	}
	if res.Test.Fits || len(res.Draws) > 0 || !strings.Contains(res.Impossible, "discharge of 1.") || !strings.Contains(res.Warnings[len(res.Warnings)-1].Message, res.Impossible) {
		t.Errorf("a discharge above one: fits %v, %d draws, %q, %v; want it named", res.Test.Fits, len(res.Draws), res.Impossible, res.Warnings)
	}
	l := res.Launches[0]
	if len(l.Residuals) != res.Test.Frames || !(l.FirstMotionU > 0) || l.Flight == nil {
		t.Errorf("%d residuals of %d frames, first motion %g(%g) s", len(l.Residuals), res.Test.Frames, l.FirstMotion, l.FirstMotionU)
	}
}

func TestRunRefuses(t *testing.T) {
	t.Parallel()
	good := filmed(t, heron(), 6, 2, 0)
	still := Launch{Observations: good.Observations[:20]}
	_, err := Run(context.Background(), Input{Launches: []Launch{still}, Unknowns: []Unknown{discharge}, Model: model("discharge")})
	var f *fault.Error
	if !errors.As(err, &f) || f.Kind != fault.NoAnswer || f.Hint == "" {
		t.Errorf("a vehicle that stays: %v, want no answer with a hint", err)
	}
	bad := good
	bad.Observations = append([]motion.Observation(nil), good.Observations...)
	bad.Observations[30].H = math.NaN()
	if _, err := Run(context.Background(), Input{Launches: []Launch{bad}, Unknowns: []Unknown{discharge}, Model: model("discharge")}); err == nil {
		t.Error("a height that is no number passes")
	}
	stopped, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := Run(stopped, Input{Launches: []Launch{good}, Unknowns: []Unknown{discharge}, Model: model("discharge")}); !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled: %v", err)
	}
}

// TestOutliers: three frames that hold something else are set aside.
func TestOutliers(t *testing.T) {
	t.Parallel()
	l := filmed(t, heron(), 7, 2, 0)
	for _, i := range []int{50, 60, 75} {
		l.Observations[i].H += 0.01
	}
	res, err := Run(context.Background(), Input{Launches: []Launch{l}, Unknowns: []Unknown{discharge, exponent}, Model: model("discharge", "exponent"), Seed: 1})
	if err != nil {
		t.Fatal(err)
	}
	if res.Test.Aside != 3 || !res.Test.Fits || math.Abs(res.Fitted[0].Value-0.96) > 4*res.Fitted[0].U {
		t.Errorf("%d set aside, discharge %.4f, %+v", res.Test.Aside, res.Fitted[0].Value, res.Test)
	}
}
