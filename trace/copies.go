package trace

import (
	"math"

	"padside/register"
	"padside/stabilise"
)

// Compression between frames. A codec that predicts a frame from the one before it copies what has hardly changed, moves blocks by
// quarters of a pixel, and leaves out differences that are cheap to leave out. A vehicle at rest is then the same picture again and
// again: its places scatter by nothing, and that is no measurement of how well they are known. When it begins to move, it lags and
// jumps by up to an eighth of a pixel. None of that shows in the residuals of the match.

const (
	// copyShare is the share of samples equal to the frame before from which a patch counts as copied. Two pictures with noise of half a level, less
	// than any camera's at a useful gain, share 0.52 (the chance that two rounded normal numbers agree, derived).
	copyShare = 0.7
	// copiesTell is the share of frames at rest that are copies from which the footage counts as compressed that way.
	copiesTell = 0.5
	// codedU is the standard uncertainty, px, that such a codec adds to every place, at rest too, where copies repeat one error. A place
	// rounded to the quarters of a pixel in which motion vectors are coded (ITU-T H.264, 8.4.2.2) errs by 0.072; what else is coded
	// mends some of that: on drawn bottle rockets at a rate factor of 16 it is 0.05 (bench/accuracy, seeds 700 and 701).
	codedU = 0.05
	// steadyU is that where the camera's movement was read from what was coded anew.
	steadyU = 0.035
)

// The camera held still. Background that hardly changes is copied too, and so is a vehicle at rest: each shows where the camera was when it was coded last. The
// vehicle in motion is coded anew and shows where the camera is. Where the camera was is read from what was coded anew (see drift); what that leaves, all
// frames at rest err by together against those in motion.
const (
	// CodedRestU is, as a rule, what that is where the camera's movement is read: 0.019 to 0.040 px stated on 15 of 16 drawn motor rockets, camera moved by 0.05 to 0.3 px, of a
	// sixteenth 0.055 (bench/finder -coded -v, seeds 13000 on).
	CodedRestU = 0.026
	// HeldWay is how far, px, a vehicle goes before its picture is coded anew: 0.09 to 0.13 on eight of these.
	HeldWay = 0.1
	// heldLeast is what one coded picture of the rest errs by itself: 0.02 px on six bottle rockets, camera fixed.
	heldLeast = 0.015
	// heldTime is within what time, s, a camera on a tripod or in a hand moves so far (common practice, no source): in the 0.01 to 0.05 s of
	// rest before a bottle rocket filmed at 1600 a second little happens.
	heldTime = 0.05
)

// heldU is that standard uncertainty for the rest that was kept: where the camera was meanwhile,
// and by how much the vehicle moved before it was coded, is anything up to what stays hidden,
// either way (rectangular). Where the camera's movement is read it is no less, for the vehicle's
// own picture is coded in the same steps: of 18 drawn launches at rate factors of 16 to 24 rest
// errs against the first 6 px of the way by 0.13 px root mean square, by 0.97 of what is stated
// (bench/world, development seeds 20000 to 20015; 0.03 was stated by a constant). step is that in which
// differences are coded, levels.
func (r *refiner) heldU(step float64) float64 {
	first, last := &r.sights[r.rest[0]], &r.sights[r.rest[len(r.rest)-1]]
	return math.Hypot(heldLeast, r.hidden(step)*r.dimmed()/math.Sqrt(3)*(1-math.Exp(-(last.t-first.t)/heldTime)))
}

// dimmed is how many times as far the vehicle moves unseen as in the light of the reference: where
// light is less, slopes are, and the step is the same. Root mean square over the frames at rest.
func (r *refiner) dimmed() float64 {
	var sum, n float64
	for _, i := range r.rest {
		if m := &r.matches[i]; m.OK && m.G > 0.1 {
			sum, n = sum+1/(m.G*m.G), n+1
		}
	}
	if n == 0 {
		return 1
	}
	return max(1, math.Sqrt(sum/n))
}

// codedCameras is where the camera was, for each sighting, when its patch was coded: what was copied of it keeps the place of the frame it was copied
// from. The first patch counts as coded with the key frame before it. It is nil where the camera's movement is not read so.
func (r *refiner) codedCameras() []stabilise.Shift {
	read := r.drift.Shifts(r.steady)
	if read == nil {
		return nil
	}
	out := make([]stabilise.Shift, len(r.sights))
	last := 0 // the last sighting that is no mixture
	for i := range r.sights {
		s := &r.sights[i]
		now, ok := read[s.frame]
		if !ok {
			return nil
		}
		if i == 0 {
			out[i] = read[r.drift.KeyBefore(s.frame)]
			continue
		}
		anew := renewedShare(&r.sights[last].crop, &s.crop, r.patchW, r.patchH, r.axis())
		k := out[last]
		out[i] = stabilise.Shift{DX: k.DX + anew*(now.DX-k.DX), DY: k.DY + anew*(now.DY-k.DY), UX: max(k.UX*(1-anew), now.UX), UY: max(k.UY*(1-anew), now.UY)}
		if !r.drift.Mixed(s.frame) {
			last = i
		}
	}
	return out
}

// Frames between. A frame predicted from both sides is, where little changes, the mean of the two, weighted by time: its places lie on the straight line between
// theirs, a dt²/2 and more ahead of a vehicle that speeds up, and say nothing that those do not. On 19 drawn motor rockets the places of such frames are 0.05 px
// ahead, on the mean, from 0.1 to 2 px off rest, those of the others within 0.01 of the truth; farther on such an error is coded away (bench/finder -points).
const (
	mixedReach = 3.0 // px off rest
	mixedGain  = 0.5 // px, of the second difference of the way: a larger one is coded
)

// mixture reports whether sighting i is such a frame.
func (r *refiner) mixture(i int) bool {
	if !r.drift.Mixed(r.sights[i].frame) || math.Abs(r.along(i)) > mixedReach || i+1 == len(r.sights) {
		return false
	}
	return math.Abs(r.along(i+1)-2*r.along(i)+r.along(max(i-1, 0))) < mixedGain
}

// telling is what a sighting says of the place, beside what its match does.
type telling struct {
	silent bool    // nothing that other frames do not say
	behind float64 // px along the line by which it is seen behind its place
	lag    float64 // px, standard uncertainty of that, and of a lag that is not known
}

const (
	// copyStirs is by how much, px, the places of two copies differ where the vehicle moves: copies of what is at rest agree to 0.005.
	copyStirs = 0.02
	// mostlyAnew is the share coded anew from which nothing lags.
	mostlyAnew = 0.6
	// partLag is the standard uncertainty, px, of the place of a vehicle that begins to move and of which only a part is coded anew.
	partLag = 0.04
	// StillLag is by how much it lags in the last of the copies of its rest, standard uncertainty: up to HeldWay.
	StillLag = 0.05
	// restCreep is by how much the first of them errs against the last: blocks of a picture at rest are coded anew one by one, and the camera has moved (drawn motor
	// rockets, two of seven: 0.06 and 0.14). Where that movement is read, creepLeft is left.
	restCreep = 0.1
	creepLeft = 0.03
)

// telling says what each sighting tells; nil where frames are coded each by itself. Of copies of one picture the last says how long the vehicle was at rest, the
// others nothing. Where the place changes, most of the patch may be copied still, but the vehicle is not.
func (r *refiner) telling() []telling {
	if r.drift == nil && !r.compressed() {
		return nil
	}
	out := make([]telling, len(r.sights))
	before := -1 // the last sighting that is no mixture
	for i := range r.sights {
		t := &out[i]
		if t.silent = r.mixture(i); t.silent {
			continue
		}
		if before >= 0 {
			x, y := &r.sights[before].crop, &r.sights[i].crop
			way, anew := r.along(i)-r.along(before), renewedShare(x, y, r.patchW, r.patchH, r.axis())
			switch {
			case anew > mostlyAnew:
			case way > copyStirs && anew > 0:
				t.behind, t.lag = way*(1/math.Sqrt(anew)-1), math.Hypot(partLag, way*(1/anew-1)/math.Sqrt(12))
			case equalShare(x, y, r.patchW, r.patchH) <= copyShare:
			case math.Abs(way) > copyStirs:
				t.lag = partLag
			default:
				t.lag = StillLag
				out[before].silent = before > 0 && out[before].lag == StillLag // it is not the last of its copies
			}
		}
		if before == 0 && t.lag == StillLag {
			out[0].lag = restCreep
			if r.cameras != nil {
				out[0].lag = creepLeft
			}
		}
		before = i
	}
	return out
}

// overlap is the patch's size about the first crop's middle, as far as both crops hold it; false where that is less than half.
func overlap(a, b *crop, w, h int) (register.Area, bool) {
	if a.W == 0 || b.W == 0 {
		return register.Area{}, false
	}
	mid := register.Area{X: a.X + (a.W-w)/2, Y: a.Y + (a.H-h)/2, W: w, H: h}.Clip(a.Area).Clip(b.Area)
	return mid, 2*mid.W*mid.H >= w*h
}

// lightWithin is what makes one crop from another, within an area of both.
func lightWithin(m register.Area, a, b *crop) stabilise.Light {
	return stabilise.LightOf(m.W*m.H, func(k int) (before, now float32) {
		x, y := m.X+k%m.W, m.Y+k/m.W
		return a.at(x-a.X, y-a.Y), b.at(x-b.X, y-b.Y)
	})
}

// equalShare is the share of samples that two crops have in common at the same places of the picture, within a patch's size about the
// first one's middle; 0 where they hardly overlap.
func equalShare(a, b *crop, w, h int) float64 {
	mid, ok := overlap(a, b, w, h)
	if !ok {
		return 0
	}
	same := 0
	l := lightWithin(mid, a, b)
	for y := mid.Y; y < mid.Y+mid.H; y++ {
		for x := mid.X; x < mid.X+mid.W; x++ {
			if l.Differs(a.at(x-a.X, y-a.Y), b.at(x-b.X, y-b.Y)) == 0 {
				same++
			}
		}
	}
	return float64(same) / float64(mid.W*mid.H)
}

// renewedSide is the side, px, of the squares that are coded anew as one: the smallest that are (ITU-T H.264, 8.5).
const renewedSide = 4

// renewedShare is the share of a patch that was coded anew from one crop to the next, each square weighed by the squares of its slopes along an axis of the picture; 1 where
// they hardly overlap. A square was where a quarter of its samples differ.
func renewedShare(a, b *crop, w, h int, axis byte) float64 {
	mid, ok := overlap(a, b, w, h)
	if !ok {
		return 1
	}
	dx, dy := 0, 1
	if axis == 'x' {
		dx, dy = 1, 0
	}
	l := lightWithin(mid, a, b)
	var anew, all float64
	for y := mid.Y; y+renewedSide <= mid.Y+mid.H; y += renewedSide {
		for x := mid.X; x+renewedSide <= mid.X+mid.W; x += renewedSide {
			changed, power := 0, 0.0
			for k := range renewedSide * renewedSide {
				u, v := x+k%renewedSide, y+k/renewedSide
				p := b.at(u-b.X, v-b.Y)
				if l.Differs(a.at(u-a.X, v-a.Y), p) != 0 {
					changed++
				}
				slope := float64(b.at(u-b.X+dx, v-b.Y+dy) - p)
				power += slope * slope
			}
			all += power
			if 4*changed >= renewedSide*renewedSide {
				anew += power
			}
		}
	}
	if all == 0 {
		return 1
	}
	return anew / all
}

// compressed reports whether most frames at rest are copies of the one before.
func (r *refiner) compressed() bool {
	n, of := 0, 0
	for _, i := range r.rest {
		if i == 0 {
			continue
		}
		of++
		if a, b := &r.sights[i-1], &r.sights[i]; b.frame == a.frame+1 && equalShare(&a.crop, &b.crop, r.patchW, r.patchH) > copyShare {
			n++
		}
	}
	return of >= 3 && float64(n) > copiesTell*float64(of)
}
