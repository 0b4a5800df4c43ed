package trace

import (
	"math"
	"slices"

	"padside/footage"
	"padside/register"
)

// relearn tells vehicle from background among the patch's pixels as soon as it is seen in other places: a pixel of
// the vehicle looks as it did at rest, a pixel of the background as that place did at rest.
func (l *lane) relearn() {
	if !l.moved || l.look != nil || l.ground == nil || l.ground.noise == 0 {
		return
	}
	var moving []*sighting
	for i := range l.sights {
		s := &l.sights[i]
		dx, dy := l.camera(s.frame, s.x, s.y)
		if s.crop.W == 0 || math.Hypot(s.x-dx-l.rest[0], s.y-dy-l.rest[1]) <= 4 {
			continue
		}
		if l.backward && i > 0 && math.Hypot(s.x-l.sights[i-1].x, s.y-l.sights[i-1].y) < restSlack {
			continue // it may have come to rest: there the picture at rest shows the vehicle
		}
		moving = append(moving, s)
	}
	n := len(moving)
	if n < max(1, 2*l.learned) && (n < l.learned+4 || l.sights[len(l.sights)-1].quality > 0.85) {
		return
	}
	l.learned = n
	hx, hy := float64(l.patch.W-1)/2, float64(l.patch.H-1)/2
	if last := &l.sights[len(l.sights)-1]; l.backward && l.recent != nil && last.quality > refreshBelow {
		// Earlier means slower, hence less blurred.
		l.pix = slices.Clone(l.recent)
		l.base = [2]float64{last.x - hx - math.Round(last.x-hx), last.y - hy - math.Round(last.y-hy)}
	}
	if n > relearnFrom {
		for k := range relearnFrom {
			moving[k] = moving[(k+1)*n/relearnFrom-1]
		}
		moving = moving[:relearnFrom]
	}
	w, h := l.patch.W, l.patch.H
	vehicle, ground := make([]float32, w*h), make([]float32, w*h)
	for _, s := range moving {
		dx, dy := l.camera(s.frame, s.x, s.y)
		s.compare(l, int(math.Round(dx)), int(math.Round(dy)), vehicle, ground)
	}
	last := moving[len(moving)-1]
	clear := len(moving) >= 4 && math.Hypot(last.x-l.rest[0], last.y-l.rest[1]) > float64(max(w, h))
	weight := l.apart(vehicle, ground, float32(l.ground.noise)*float32(len(moving)), l.loose || clear)
	if weight == nil {
		return
	}
	l.first = register.NewSearcher(l.pix, weight, w, h, register.MostSought)
	l.mask = weight
	if !l.loose {
		l.usual = min(l.usual, 0.9)
		return
	}
	var sum, of float32
	for k, w := range weight {
		if w > 0 {
			sum, of = sum+ground[k], of+1
		}
	}
	l.contrast = sum / of / float32(len(moving))
	l.level = l.mean(weight)
	l.usual = min(l.usual, 0.9)
}

// mean is the vehicle's brightness as it was last seen, over the weighted pixels.
func (l *lane) mean(weight []float32) float32 {
	pix := l.recent
	if pix == nil {
		pix = l.pix
	}
	return register.NewSearcher(pix, weight, l.patch.W, l.patch.H, register.MostSought).Mean
}

// apart weighs the pixels of the patch by how much they differed, in all, from the reference and from the picture at rest behind
// them: those of the vehicle, and what is so near to them that the edge between may show in it, count. What looks like both tells
// nothing. It is nil where too few remain, and leaves out what is background where none evidently belong to the vehicle.
func (l *lane) apart(vehicle, ground []float32, noise float32, strict bool) []float32 {
	w, h := l.patch.W, l.patch.H
	weight := make([]float32, w*h)
	evident := 0
	sorted := slices.Clone(ground)
	slices.Sort(sorted)
	// Light and the camera's movement are never quite those at rest: the vehicle is what stands out from that.
	plain := faint * sorted[len(sorted)*19/20]
	for k := range weight {
		if ground[k] > 4*vehicle[k]+noise+plain && l.weight[k] > 0 {
			evident++
			for y := max(0, k/w-rim); y <= min(h-1, k/w+rim); y++ {
				for x := max(0, k%w-rim); x <= min(w-1, k%w+rim); x++ {
					weight[y*w+x] = l.weight[y*w+x]
				}
			}
		}
	}
	some := 0
	for k := range weight {
		if !strict || evident < leastEvident {
			weight[k] = l.weight[k]
		}
		if vehicle[k] > 1.5*ground[k]+noise {
			weight[k] = 0
		}
		if weight[k] > 0 {
			some++
		}
	}
	if some < max(leastEvident, w*h/16) {
		return nil
	}
	return weight
}

const (
	faint        = 0.2 // of the strongest difference from the background
	rim          = 0   // px around the vehicle's pixels
	leastEvident = 30  // pixels, that make a correlation good to about 1/5 (its standard deviation for unlike pictures)
)

// relearnFrom is how many sightings, spread over all, the coarse weights are learned from.
const relearnFrom = 24

// compare adds, per pixel of the patch, how much this sighting differs from the reference and from the picture at rest behind it.
func (s *sighting) compare(l *lane, sx, sy int, vehicle, ground []float32) {
	x0, y0 := int(math.Round(s.x-float64(l.patch.W-1)/2)), int(math.Round(s.y-float64(l.patch.H-1)/2))
	for k := range vehicle {
		px, py := x0+k%l.patch.W, y0+k/l.patch.W
		f := s.crop.at(px-s.crop.X, py-s.crop.Y)
		vehicle[k] += float32(math.Abs(float64(f - l.pix[k])))
		bx, by := px-sx, py-sy
		if bx >= 0 && by >= 0 && bx < l.ground.w && by < l.ground.h {
			ground[k] += float32(math.Abs(float64(f - l.ground.at(bx, by))))
		}
	}
}

// refresh takes a second reference where the first, and the second so far, begin to differ: blur, size and light change the
// vehicle's looks. It is taken only where the vehicle was found as predicted, and seldom, for each one brings in an error of its own;
// the first reference stays.
func (l *lane) refresh(pic *footage.Luma, got register.Found, off float64) {
	if !l.moved || l.missing > 0 || got.Quality < 0.6 || off > refreshWithin {
		return
	}
	a := register.Area{X: int(math.Round(got.X)), Y: int(math.Round(got.Y)), W: l.patch.W, H: l.patch.H}
	if !a.Within(register.Area{X: 0, Y: 0, W: pic.Width, H: pic.Height}) {
		return
	}
	l.recent = register.Cut(pic, a, l.recent)
	if got.Quality > refreshBelow {
		return
	}
	weight := l.weight
	if l.mask != nil {
		weight = l.mask
	}
	if l.look != nil {
		weight = l.look
	}
	l.fresh = register.NewSearcher(l.recent, weight, a.W, a.H, register.MostSought)
	l.renewed++
	l.offset = [2]float64{got.X - float64(a.X), got.Y - float64(a.Y)}
}

const (
	refreshWithin = 1.5 // px from the prediction
	refreshBelow  = 0.9 // correlation
)
