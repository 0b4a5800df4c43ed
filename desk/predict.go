package desk

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"runtime"

	"golang.org/x/sync/errgroup"

	"padside/fault"
	"padside/flight"
	"padside/logbook"
	"padside/metrology"
)

// FlightSheet is a predicted flight, in the shape of the contract. SI.
type FlightSheet struct {
	Format   string             `json:"format"` // "padside-flight"
	Version  int                `json:"version"`
	Program  string             `json:"program"`
	Seed     uint64             `json:"seed"`
	Title    string             `json:"title"`
	Phases   []FlightPhase      `json:"phases"`
	Answers  []metrology.Answer `json:"answers"`
	History  []FlightState      `json:"history"`
	Sweep    *FlightSweep       `json:"sweep,omitempty"`
	Warnings []fault.Warning    `json:"warnings"`
}

// FlightPhase is one part of the flight, s.
type FlightPhase struct {
	Name string  `json:"name"`
	From float64 `json:"from_s"`
	To   float64 `json:"to_s"`
}

// FlightState is the motion at one instant of the best estimate.
type FlightState struct {
	T            float64 `json:"t"`
	Height       float64 `json:"height"`
	Speed        float64 `json:"speed"`
	Acceleration float64 `json:"acceleration"`
	Thrust       float64 `json:"thrust"`
}

// JSON returns the sheet with a final line break.
func (s *FlightSheet) JSON() ([]byte, error) {
	return indented(s)
}

// PredictOptions says what to predict. The zero value predicts one flight.
type PredictOptions struct {
	Options
	Sweep *SweepRequest
}

// predictDraws is how many flights show the spread from uncertain inputs: a standard deviation to 2 %.
const predictDraws = 1000

// historyRows is how many instants of the flight are listed, to apogee.
const historyRows = 400

// Predict reads a flight file, flies it, and says what it would reach and how sure that is.
func Predict(ctx context.Context, path string, o PredictOptions) (*FlightSheet, error) {
	f, err := logbook.ReadFlight(path)
	if err != nil {
		return nil, err
	}
	model := flightModel{f}
	best, err := model.fly(model.best())
	if err != nil {
		return nil, err
	}
	seed := max(1, o.Seed)
	s := &FlightSheet{Format: "padside-flight", Version: 1, Program: Program, Seed: seed, Title: f.Title, Warnings: []fault.Warning{}}
	s.describe(best)
	if s.Answers, err = model.answers(ctx, best, seed, o.progress); err != nil {
		return nil, err
	}
	s.Warnings = append(s.Warnings, best.flight.Warnings...)
	s.Warnings = append(s.Warnings, model.cautions(best, model.best())...)
	if o.Sweep != nil {
		if s.Sweep, err = model.sweep(ctx, *o.Sweep, seed, o.progress); err != nil {
			return nil, err
		}
		s.Warnings = append(s.Warnings, s.Sweep.warnings...)
	}
	return s, nil
}

// describe lists phases and motion of the best estimate up to apogee.
func (s *FlightSheet) describe(w *flown) {
	for _, p := range w.flight.Phases() {
		s.Phases = append(s.Phases, FlightPhase{p.Name, p.From, p.To})
	}
	s.History = historyOf(w.flight)
}

// historyOf lists the motion up to apogee, time 0 at ignition or release.
func historyOf(f *flight.Flight) []FlightState {
	end := f.End
	if t, _, ok := f.Apogee(); ok {
		end = t
	}
	var out []FlightState
	for i := range historyRows + 1 {
		// Half of the rows up to the end of thrust: there most happens.
		t := f.EndOfThrust * 2 * float64(i) / historyRows
		if i > historyRows/2 {
			t = f.EndOfThrust + (end-f.EndOfThrust)*(2*float64(i)/historyRows-1)
		}
		at := f.At(t)
		out = append(out, FlightState{t, at.Height, at.Speed, at.Acceleration, f.Thrust(t)})
	}
	return out
}

// flightModel makes flights of a flight file.
type flightModel struct{ file *logbook.FlightFile }

// inputs are values by key; impulse is that of a motor given by its class, N s.
type inputs struct {
	value   map[string]float64
	impulse float64
}

// flown is one flight and what it started from.
type flown struct {
	flight *flight.Flight
	stored float64 // J, in the bottle
	class  flight.Motor
}

// best are the inputs as stated.
func (m flightModel) best() inputs {
	in := inputs{value: map[string]float64{}}
	for _, i := range m.file.Inputs {
		in.value[i.Key] = i.Quantity.Value
	}
	if m.file.Class != "" {
		least, most, _, _ := flight.MotorClass(m.file.Class)
		in.impulse = (least + most) / 2
	}
	return in
}

// drawn are inputs drawn from their uncertainties: normal where stated, even over its class for an impulse.
func (m flightModel) drawn(r *rand.Rand) inputs {
	in := m.best()
	for _, i := range m.file.Inputs {
		z := r.NormFloat64() // drawn even where it is not used, so that one input's uncertainty does not change another's draws
		in.value[i.Key] += i.Quantity.U * z
	}
	if m.file.Class != "" {
		least, most, _, _ := flight.MotorClass(m.file.Class)
		in.impulse = least + (most-least)*r.Float64()
	}
	return in
}

// uncertain says whether any input is.
func (m flightModel) uncertain() bool {
	for _, i := range m.file.Inputs {
		if i.Quantity.U > 0 {
			return true
		}
	}
	return m.file.Class != ""
}

func (m flightModel) fly(in inputs) (*flown, error) {
	site, err := in.site()
	if err != nil {
		return nil, err
	}
	w := &flown{}
	if m.file.Kind == "bottle" {
		b := m.bottle(in, site)
		if w.flight, err = b.Fly(); err != nil {
			return nil, err
		}
		w.stored = b.StoredEnergy()
		return w, nil
	}
	w.class = m.motor(in, site)
	w.flight, err = w.class.Fly()
	return w, err
}

// flyUntil flies some seconds of it.
func (m flightModel) flyUntil(in inputs, until float64) (*flight.Flight, error) {
	site, err := in.site()
	if err != nil {
		return nil, err
	}
	if m.file.Kind == "bottle" {
		return m.bottle(in, site).FlyUntil(until)
	}
	return m.motor(in, site).FlyUntil(until)
}

func (in inputs) site() (flight.Site, error) {
	given := func(key string) *float64 {
		if v, ok := in.value["site."+key]; ok {
			return &v
		}
		return nil
	}
	return flight.Conditions{Latitude: given("latitude"), Elevation: given("elevation"), Temperature: given("air_temperature"), Pressure: given("air_pressure")}.Site()
}

func (m flightModel) bottle(in inputs, site flight.Site) flight.Bottle {
	v := in.value
	b := flight.Bottle{Volume: v["volume"], Water: v["water"], Pressure: v["pressure"], NozzleDiameter: v["nozzle_diameter"], DryMass: v["dry_mass"],
		BodyDiameter: v["body_diameter"], DragCoefficient: v["drag_coefficient"], Exponent: v["exponent"], Discharge: v["discharge"], WaterInertia: m.file.WaterInertia, Site: site}
	if m.file.Moist && b.Exponent == 0 {
		n, ok := flight.MoistExponent(b.Pressure+site.Air.Pressure, site.Air.Temperature)
		if ok {
			b.Exponent = n
		}
	}
	if l, ok := v["launch_tube.length"]; ok {
		b.Tube = &flight.Tube{Length: l, Diameter: v["launch_tube.diameter"]}
	}
	return b
}

// motor is the motor rocket; a thrust known by its mean alone rises and ends within a fiftieth of the burn.
func (m flightModel) motor(in inputs, site flight.Site) flight.Motor {
	v := in.value
	r := flight.Motor{PropellantMass: v["propellant_mass"], DryMass: v["dry_mass"], BodyDiameter: v["body_diameter"],
		DragCoefficient: v["drag_coefficient"], RodLength: v["rod_length"], Site: site}
	scale := 1.0
	if s, ok := v["thrust_scale"]; ok {
		scale = s
	}
	mean, burn := v["mean_thrust"], v["burn_time"]
	if m.file.Class != "" {
		_, _, mean, _ = flight.MotorClass(m.file.Class)
		burn = in.impulse / mean
	}
	if m.file.Thrust == nil {
		const rise = 0.02
		top := mean / (1 - rise) * scale
		r.Thrust = []flight.ThrustPoint{{Time: 0}, {Time: rise * burn, Force: top}, {Time: (1 - rise) * burn, Force: top}, {Time: burn}}
		return r
	}
	for _, p := range m.file.Thrust {
		r.Thrust = append(r.Thrust, flight.ThrustPoint{Time: p.Time, Force: p.Force * scale})
	}
	return r
}

// predicted are the answers to a flight, in their order.
var predicted = [...]struct{ id, unit string }{{"initial_thrust", "N"}, {"total_impulse", "N s"}, {"end_of_water_speed", "m/s"}, {"end_of_thrust_speed", "m/s"},
	{"end_of_thrust_time", "s"}, {"peak_speed", "m/s"}, {"peak_acceleration", "m/s2"}, {"apogee", "m"}, {"apogee_time", "s"}, {"stored_energy", "J"}, {"rod_exit_speed", "m/s"}}

// values are a flight's answers; NaN where it has none.
func (w *flown) values(rod float64) [len(predicted)]float64 {
	nan := math.NaN()
	v := [len(predicted)]float64{}
	for i := range v {
		v[i] = nan
	}
	f := w.flight
	v[0] = f.Thrust(f.FirstMotion + 1e-9)
	v[1] = impulseOf(f)
	for _, p := range f.Phases() {
		if p.Name == flight.Water {
			v[2] = f.At(p.To).Speed
		}
	}
	v[3], v[4] = f.At(f.EndOfThrust).Speed, f.EndOfThrust-f.FirstMotion
	end := f.End
	if t, h, ok := f.Apogee(); ok {
		v[7], v[8], end = h, t-f.FirstMotion, t
	}
	_, v[5] = f.PeakSpeed(end)
	_, v[6] = f.PeakAcceleration(0, end)
	if w.stored > 0 {
		v[9] = w.stored
	}
	if rod > 0 {
		if t, ok := f.HeightReached(rod); ok {
			v[10] = f.At(t).Speed
		}
	}
	return v
}

// impulseOf sums thrust over time by Simpson's rule within each phase, where it is smooth.
func impulseOf(f *flight.Flight) float64 {
	sum := 0.0
	for _, p := range f.Phases() {
		if p.From >= f.EndOfThrust || p.To <= p.From {
			continue
		}
		const n = 400
		from, to := p.From, math.Min(p.To, f.EndOfThrust)
		h := (to - from) / n
		for i := range n {
			a, b := from+float64(i)*h, from+float64(i+1)*h
			// Just inside the ends: thrust jumps there.
			sum += h / 6 * (f.Thrust(a+1e-9*h) + 4*f.Thrust((a+b)/2) + f.Thrust(b-1e-9*h))
		}
	}
	return sum
}

// answers flies draws of the inputs and sums them up.
func (m flightModel) answers(ctx context.Context, best *flown, seed uint64, progress func(string, int, int)) ([]metrology.Answer, error) {
	rod := m.best().value["rod_length"]
	values := best.values(rod)
	n := predictDraws
	if !m.uncertain() {
		n = 0
	}
	flown, err := m.draw(ctx, n, seed, rod, nil, progress)
	if err != nil {
		return nil, err
	}
	failed := 0
	for _, f := range flown {
		if f == nil {
			failed++
		}
	}
	if 20*failed > n && n > 0 {
		return nil, fault.Requestf("narrow the uncertainties, or move the values away from what cannot fly", "%d of %d flights that the stated uncertainties allow do not fly", failed, n)
	}
	var out []metrology.Answer
	for k, p := range predicted {
		a := metrology.Answer{ID: p.id, Unit: p.unit}
		if math.IsNaN(values[k]) {
			if p.id == "apogee" {
				out = append(out, metrology.WithoutValue(a, metrology.NotReached, "no apogee is reached"))
			}
			continue // of another kind of vehicle
		}
		if n == 0 {
			if a, err = metrology.FromEstimate(a, metrology.Known(values[k], 0)); err != nil {
				return nil, err
			}
		} else if a, err = fromDraws(a, values[k], column(flown, k)); err != nil {
			return nil, err
		}
		out = append(out, a)
	}
	return out, nil
}

// column is one answer on all draws that have it.
func column(flown []*[len(predicted)]float64, k int) []float64 {
	var out []float64
	for _, f := range flown {
		if f != nil && !math.IsNaN(f[k]) {
			out = append(out, f[k])
		}
	}
	return out
}

// fromDraws is FromDraws for a best value that a skewed spread may leave at the edge of its draws.
func fromDraws(a metrology.Answer, value float64, draws []float64) (metrology.Answer, error) {
	lo, hi := draws[0], draws[0]
	for _, d := range draws {
		lo, hi = math.Min(lo, d), math.Max(hi, d)
	}
	return metrology.FromDraws(a, math.Min(math.Max(value, lo), hi), draws)
}

// draw flies n draws of the inputs, each changed by set where that is given, and returns their values, nil for one that cannot fly.
func (m flightModel) draw(ctx context.Context, n int, seed uint64, rod float64, set func(inputs), progress func(string, int, int)) ([]*[len(predicted)]float64, error) {
	all := make([]*[len(predicted)]float64, n)
	return all, flyAll(ctx, n, progress, func(i int) {
		in := m.drawn(rand.New(rand.NewPCG(seed, uint64(i))))
		if set != nil {
			set(in)
		}
		if f, err := m.fly(in); err == nil {
			v := f.values(rod)
			all[i] = &v
		}
	})
}

// flyAll calls fly for each of n flights, on all processors, until ctx is done. progress may be nil.
func flyAll(ctx context.Context, n int, progress func(string, int, int), fly func(i int)) error {
	g, ctx := errgroup.WithContext(ctx)
	workers := runtime.GOMAXPROCS(0)
	for w := range workers {
		g.Go(func() error {
			for i := w; i < n; i += workers {
				if ctx.Err() != nil {
					return ctx.Err()
				}
				fly(i)
				if w == 0 && progress != nil {
					progress("predict", i, n)
				}
			}
			return nil
		})
	}
	return g.Wait()
}

// Published burst pressures of drink bottles: the lowest is 140 psi (a 3 L bottle; Berggren & Youens 2002). Half of it is the most
// that this program will recommend.
const (
	psi          = 6894.757293168 // Pa (NIST SP 811, B.8)
	lowestBurst  = 140 * psi
	safePressure = lowestBurst / 2
)

// cautions are what must be said with every prediction.
func (m flightModel) cautions(w *flown, in inputs) []fault.Warning {
	out := []fault.Warning{{Code: "no-clearance", Message: "a prediction is an estimate, not a clearance to fly: the local code, licensed practice and the range safety officer decide; wind is ignored"}}
	if m.file.Kind == "motor" {
		if w.highPower() {
			out = append(out, fault.Warning{Code: "high-power", Message: "this motor counts as high power: it may only be bought and flown under certification and the code for it"})
		}
		return out
	}
	p := in.value["pressure"]
	out = append(out, fault.Warning{Code: "stored-energy", Message: fmt.Sprintf(
		"%.0f J are stored at %.3g bar: prove the bottle full of water, from a distance, at 1.5 times that pressure; wear eye protection, stay 6 m away while it is pressurised (12 m above 4 bar), never lean over it, no metal parts", w.stored, p/1e5)})
	if p > safePressure {
		out = append(out, fault.Warning{Code: "pressure-high", Message: fmt.Sprintf(
			"%.3g bar is more than half of the lowest published burst pressure of a drink bottle (%.3g bar): it is not recommended, whatever the model says of it", p/1e5, lowestBurst/1e5)})
	}
	return out
}
