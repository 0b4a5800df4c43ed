package flight

import (
	"math"
	"slices"

	"padside/fault"
	"padside/metrology"
)

// Firing is a static firing: what a motor did on a thrust stand.
type Firing struct {
	Curve    []ThrustPoint      // from ignition at time 0 to burnout, offset taken out, means over a 150th of it, with the same impulse; no force below zero
	Impulse  metrology.Estimate // N s
	Ignition float64            // s, in the record's own time
	Before   float64            // N, what the load cell showed before ignition
	After    float64            // N, and after burnout
	Noise    float64            // N, standard deviation of one reading at rest
}

const (
	quietShare   = 0.04 // of a record, at each end, that must be quiet
	fewestQuiet  = 20   // readings, at each end
	firingAt     = 6.0  // times the noise above the offset counts as thrust
	firingOfPeak = 0.01 // and this share of the peak
	firingRun    = 5    // readings in a row
	curvePoints  = 150  // of the reduced curve: means of readings
	footRun      = 20   // readings whose mean shows a small thrust
)

// ReduceFiring takes the offset out of a load cell's record and finds ignition, burnout and total impulse. The record must be quiet at
// both ends, times increasing. Before ignition and after burnout the offset is the mean there; in between it moves from one to the
// other in proportion to the impulse delivered, as the weight of the propellant on the cell does.
//
// The impulse's uncertainty has three parts: the noise of the readings, the offsets' own, and how the offset went in between, for
// which all monotonous ways are allowed: half width |After - Before| T/2 with a triangular distribution. The load cell's calibration is
// not in it.
func ReduceFiring(record []ThrustPoint) (*Firing, error) {
	n := len(record)
	quiet := max(fewestQuiet, int(quietShare*float64(n)))
	if n < 3*quiet {
		return nil, fault.Requestf("log from well before ignition until well after burnout", "a record of %d readings is too short for a static firing", n)
	}
	for i, p := range record {
		if math.IsNaN(p.Force) || math.IsInf(p.Force, 0) || math.IsNaN(p.Time) || i > 0 && !(p.Time > record[i-1].Time) {
			return nil, fault.Requestf("sort the lines by time, each time once", "static firing: reading %d (%g s, %g N) does not fit", i+1, p.Time, p.Force)
		}
	}
	before, u1 := level(record[:quiet])
	after, u2 := level(record[n-quiet:])
	noise := math.Sqrt((u1*u1 + u2*u2) / 2)
	peak := 0.0
	for _, p := range record {
		peak = math.Max(peak, p.Force-math.Min(before, after))
	}
	on := math.Max(firingAt*noise, firingOfPeak*peak)
	first := run(record, func(p ThrustPoint) bool { return p.Force > before+on })
	last := n - 1
	if first >= 0 {
		back := slices.Clone(record)
		slices.Reverse(back)
		last = n - 1 - run(back, func(p ThrustPoint) bool { return p.Force > after+on })
	}
	if first < quiet || last > n-1-quiet || last-first < firingRun {
		return nil, fault.NoAnswerf("log from well before ignition until well after burnout", "the record shows no firing between two quiet stretches")
	}
	first, last = footOf(record, first, -1, before, noise), footOf(record, last, 1, after, noise)
	f := &Firing{Noise: noise, Ignition: record[first].Time}
	// All readings at rest, up to a little before ignition and from a little after burnout, give the offsets.
	var n1, n2 float64
	f.Before, n1 = meanOf(record[:max(first, quiet/2)])
	f.After, n2 = meanOf(record[min(last+1, n-quiet/2):])
	f.reduce(record[first:last+1], n1, n2)
	return f, nil
}

// reduce makes curve and impulse from the part that burns; n1 and n2 are how many readings the offsets are means of.
func (f *Firing) reduce(burn []ThrustPoint, n1, n2 float64) {
	share := make([]float64, len(burn)) // of the impulse, delivered so far
	for range 4 {                       // the share depends on the offset and the offset on the share: it settles at once
		sum := 0.0
		next := make([]float64, len(burn))
		at := func(i int) float64 { return burn[i].Force - f.Before - (f.After-f.Before)*share[i] }
		for i := 1; i < len(burn); i++ {
			sum += (burn[i].Time - burn[i-1].Time) * (at(i) + at(i-1)) / 2
			next[i] = sum
		}
		for i := range next {
			next[i] /= sum
		}
		share = next
		f.Impulse.Value = sum
	}
	f.Curve = append(f.Curve, ThrustPoint{})
	for k := range curvePoints {
		from, to := 1+k*(len(burn)-2)/curvePoints, 1+(k+1)*(len(burn)-2)/curvePoints
		if from == to {
			continue
		}
		var p ThrustPoint
		for i := from; i < to; i++ {
			p.Time += (burn[i].Time - f.Ignition) / float64(to-from)
			p.Force += (burn[i].Force - f.Before - (f.After-f.Before)*share[i]) / float64(to-from)
		}
		f.Curve = append(f.Curve, ThrustPoint{p.Time, math.Max(0, p.Force)})
	}
	f.Curve = append(f.Curve, ThrustPoint{burn[len(burn)-1].Time - f.Ignition, 0})
	scale := f.Impulse.Value / Motor{Thrust: f.Curve}.Impulse()
	for i := range f.Curve {
		f.Curve[i].Force *= scale
	}
	t := burn[len(burn)-1].Time - f.Ignition
	own := f.Noise * t / math.Sqrt(float64(len(burn)))
	offsets := t / 2 * math.Hypot(f.Noise/math.Sqrt(n1), f.Noise/math.Sqrt(n2))
	way := math.Abs(f.After-f.Before) * t / 2 / math.Sqrt(3)
	f.Impulse.U = math.Hypot(own, math.Hypot(offsets, way))
	f.Impulse.Dof = math.Inf(1)
}

// footOf follows a flank of the thrust from reading i down to where footRun readings' mean is the offset's within its noise. step is -1 for
// the rise, 1 for the fall.
func footOf(record []ThrustPoint, i, step int, offset, noise float64) int {
	for {
		sum, end := 0.0, i+step*footRun
		if end < 0 || end >= len(record) {
			return i
		}
		for k := i; k != end; k += step {
			sum += record[k].Force - offset
		}
		i = end
		if sum < 2*noise*math.Sqrt(footRun) {
			return i
		}
	}
}

// level is the median of some readings and their standard deviation by the median deviation from it.
func level(p []ThrustPoint) (mid, sd float64) {
	v := make([]float64, len(p))
	for i := range p {
		v[i] = p[i].Force
	}
	slices.Sort(v)
	mid = v[len(v)/2]
	for i := range v {
		v[i] = math.Abs(v[i] - mid)
	}
	slices.Sort(v)
	return mid, 1.4826 * v[len(v)/2]
}

func meanOf(p []ThrustPoint) (mean, n float64) {
	for _, x := range p {
		mean += x.Force
	}
	n = float64(len(p))
	return mean / n, n
}

// run is the first of the readings from which on firingRun in a row are as asked, -1 for none.
func run(record []ThrustPoint, asked func(ThrustPoint) bool) int {
	count := 0
	for i, p := range record {
		if count++; !asked(p) {
			count = 0
		}
		if count == firingRun {
			return i - firingRun + 1
		}
	}
	return -1
}
