package camera

import "math"

// This file holds the photographer's formulas by which a shoot is planned: lengths in m, angles in rad, exposures in s, apertures as
// f-numbers, sensitivities as ISO arithmetic speeds.

// AngleOfView returns the angle that a length on the sensor sees through a lens focused far away: 2 atan(d/2f).
func AngleOfView(sensor, focal float64) float64 { return 2 * math.Atan(sensor/(2*focal)) }

// Hyperfocal returns the nearest focus at which far things are still blurred by no more than the circle of confusion:
// H = f^2/(N c) + f. Source: the thin lens; a handbook's worked examples in the test.
func Hyperfocal(focal, fNumber, circle float64) float64 {
	return focal*focal/(fNumber*circle) + focal
}

// DepthOfField returns the distances between which blur stays within the circle of confusion, for a lens focused at focus (farther than its focal
// length): near = s(H-f)/(H+s-2f), far = s(H-f)/(H-s); far is +Inf from the hyperfocal distance on.
func DepthOfField(focal, fNumber, circle, focus float64) (near, far float64) {
	h := Hyperfocal(focal, fNumber, circle)
	near, far = focus*(h-focal)/(h+focus-2*focal), math.Inf(1)
	if focus < h {
		far = focus * (h - focal) / (h - focus)
	}
	return near, far
}

// LightValue returns the light, as EV at ISO 100, that exposes a picture rightly: log2(N^2/t) - log2(S/100). Source: the exposure value of ISO 2720 and
// APEX; full sun is about 15 (common practice).
func LightValue(fNumber, exposure, iso float64) float64 {
	return math.Log2(fNumber*fNumber/exposure) - math.Log2(iso/100)
}

// Sensitivity returns the ISO speed that an f-number and an exposure need in a light given as EV at ISO 100. The inverse of LightValue.
func Sensitivity(fNumber, exposure, light float64) float64 {
	return 100 * fNumber * fNumber / exposure / math.Exp2(light)
}

// Exposure returns the exposure, s, that an f-number and an ISO speed need in a light given as EV at ISO 100. The inverse of LightValue.
func Exposure(fNumber, iso, light float64) float64 {
	return 100 * fNumber * fNumber / iso / math.Exp2(light)
}
