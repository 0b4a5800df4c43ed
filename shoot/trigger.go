package shoot

import (
	"math"
)

// trigger is a way to press the release: when the press comes after it was meant to, on average and scattered, s (one standard deviation).
type trigger struct {
	name         string
	mean, spread float64
	free         bool // the moment can be chosen; else it follows the launch
}

// Sources: simple reaction to something seen, 231 ms on average over 1,469 people of 18 to 65 years (Woods et al., Front. Hum. Neurosci. 9:131, 2015), its
// scatter of 50 ms from memory; pressing at a moment one waits for errs by 110 ms, scattered by 70 ms (4,304 hand times, Am. J. Phys. 87(2):110, 2019).
var triggers = []trigger{
	{name: "when it is seen to move", mean: 0.231, spread: 0.050},
	{name: "on the count", mean: 0.11, spread: 0.07, free: true},
	{name: "by the launch switch", mean: 0, spread: 0.002},
}

// Caught is what a burst started by one trigger would catch.
type Caught struct {
	Camera  string     `json:"camera"`
	Trigger string     `json:"trigger"`
	Chance  [3]float64 `json:"chance"`  // of one picture of the vehicle in flight and in view, two, three, or more
	Start   float64    `json:"start_s"` // when to press, from first motion; negative: before

	asked []float64 // the chance of as many as each question asks for, in their order
}

// caught works out the chances of one burst: pictures at start + lag + error + j/rate, j = 0 .. frames-1, those from first motion to the end of view count.
// The error is normal; of the moments a trigger may choose the best for most pictures is taken, among equals the one that puts the launch in the
// middle of the burst.
func caught(c Camera, rate, viewTime float64, t trigger, counts []int) Caught {
	out := Caught{Camera: c.Name, Trigger: t.name}
	start := 0.0
	if t.free {
		start = bestStart(*c.Burst, rate, viewTime, t, counts)
	}
	out.Start = start
	if !t.free {
		out.Start = t.mean
	}
	for k := range out.Chance {
		out.Chance[k] = chance(*c.Burst, rate, viewTime, t, start, k+1)
	}
	for _, n := range counts {
		out.asked = append(out.asked, chance(*c.Burst, rate, viewTime, t, start, n))
	}
	return out
}

// bestStart looks for the moment to press.
func bestStart(b Burst, rate, viewTime float64, t trigger, counts []int) float64 {
	want := 3
	for _, n := range counts {
		want = max(want, n)
	}
	length := float64(b.Frames) / rate
	middle := viewTime/2 - length/2 - t.mean - b.Lag
	best, most := middle, -1.0
	const moments = 400
	for i := range moments + 1 {
		at := -length - t.mean - b.Lag + (length+viewTime)*float64(i)/moments
		worth := 0.0
		for n := 1; n <= want; n++ {
			worth += chance(b, rate, viewTime, t, at, n)
		}
		const equal = 0.01
		if worth > most+equal || worth > most-equal && math.Abs(at-middle) < math.Abs(best-middle) {
			best, most = at, math.Max(most, worth)
		}
	}
	return best
}

// chance is the probability that at least n pictures show the vehicle, over the error of the press: 401 points over plus and minus four deviations.
func chance(b Burst, rate, viewTime float64, t trigger, start float64, n int) float64 {
	const points = 401
	var sum, weights float64
	for i := range points {
		z := -4 + 8*float64(i)/(points-1)
		w := math.Exp(-z * z / 2)
		weights += w
		if inView(b, rate, viewTime, start+b.Lag+t.mean+t.spread*z) >= n {
			sum += w
		}
	}
	return sum / weights
}

// inView counts the pictures from 0 to viewTime of a burst whose first is at first.
func inView(b Burst, rate, viewTime, first float64) int {
	from := max(0, int(math.Ceil(-first*rate)))
	to := min(b.Frames-1, int(math.Floor((viewTime-first)*rate)))
	return max(0, to-from+1)
}
