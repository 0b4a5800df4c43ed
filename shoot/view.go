package shoot

import (
	"math"

	"padside/camera"
)

// view is what a camera sees of the upright flight line, by a pinhole. With D the level distance, h the lens's height and a the tilt, a point at the height
// z above the ground is seen in the row
//
//	y = (n-1)/2 - F tan(atan((z-h)/D) - a)
//
// with n rows along the flight and F the focal length in pixels.
type view struct {
	along, across int     // px
	focal         float64 // px
	distance      float64 // m
	lens          float64 // m, height above the ground
	tilt          float64 // rad
}

// belowGround is how much of the picture shows the ground in front of the pad, where the tilt is not stated.
const belowGround = 0.04

// newView aims the camera.
func newView(m Mode, pitch float64, l Lens, p Place) view {
	v := view{along: m.Height, across: m.Width, focal: l.FocalLength / pitch, distance: p.Range.Value, lens: p.Height, tilt: p.Tilt}
	if p.Rotated {
		v.along, v.across = m.Width, m.Height
	}
	if !p.TiltGiven {
		v.tilt = math.Atan(-p.Height/p.Range.Value) + math.Atan((0.5-belowGround)*float64(v.along)/v.focal)
	}
	return v
}

// row returns the row in which a height above the ground is seen.
func (v view) row(height float64) float64 {
	return float64(v.along-1)/2 - v.focal*math.Tan(math.Atan((height-v.lens)/v.distance)-v.tilt)
}

// height returns the height above the ground that is seen in a row; +Inf where the row looks past the zenith.
func (v view) height(row float64) float64 {
	up := v.tilt + math.Atan((float64(v.along-1)/2-row)/v.focal)
	if up >= math.Pi/2 {
		return math.Inf(1)
	}
	return v.lens + v.distance*math.Tan(up)
}

// edges returns the heights above the ground at the picture's lower and upper edge.
func (v view) edges() (low, high float64) {
	return v.height(float64(v.along) - 0.5), v.height(-0.5)
}

// metresPerPixel returns what a pixel along the flight spans at a height above the ground.
func (v view) metresPerPixel(height float64) float64 {
	up := math.Atan((height - v.lens) / v.distance)
	off := up - v.tilt
	return v.distance * sq(math.Cos(off)/math.Cos(up)) / v.focal
}

// slant is the distance from the lens to where the optical axis meets the flight line.
func (v view) slant() float64 { return v.distance / math.Cos(v.tilt) }

// acrossWidth is the width seen there.
func (v view) acrossWidth() float64 { return v.slant() * float64(v.across) / v.focal }

// pixel returns where a point of the flight line is seen.
func (v view) pixel(height float64) camera.Pixel {
	return camera.Pixel{X: float64(v.across-1) / 2, Y: v.row(height)}
}
