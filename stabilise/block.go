package stabilise

import (
	"cmp"
	"math"
	"slices"

	"padside/footage"
	"padside/register"
)

// block is a small square of the picture.
type block struct {
	x, y   int
	nx, ny float64    // direction of its steepest slope
	slope  []float32  // along that direction, less its mean
	power  float64    // sum of squares of slope
	ref    []float32  // levels in the first frame
	last   []float32  // in the last one that is no mixture
	leave  bool       // it lies where the vehicle or its smoke will be
	mean   [2]float64 // slopes' means
}

const (
	// BlockSide is the side of a block, px: that of the transforms of video codecs, or a multiple.
	BlockSide = 8
	// mostBlocks are kept, those with most slope, at most blocksNear of them in any square of
	// nearBlocks px: what one thing does, as a bush in the wind, shall not decide.
	mostBlocks = 240
	blocksNear = 6
	nearBlocks = 64
	// leastPower is the least sum of squares of slopes, levels²/px²: the block's place is known to
	// 0.03 px where the codec errs by 1.5 levels.
	leastPower = 2000.0
	// renewedLeast is the share of samples that differ in a block coded anew. Rounding leaves some
	// of them alike.
	renewedLeast = 0.375
	// renewalLeft is what may be left of a block's change, levels root mean square, beside the
	// shift: more is a change of another kind. A steep block may leave more, a tenth of a pixel of
	// its slope.
	renewalLeft = 3.0
)

// copyTo copies the block's levels.
func (b *block) copyTo(dst []float32, l *footage.Luma) {
	for k := range dst {
		dst[k] = register.Level(l, b.x+k%BlockSide, b.y+k/BlockSide)
	}
}

// light is what makes the block from what it was last.
func (b *block) light(now []float32) Light {
	return LightOf(len(now), func(k int) (before, after float32) { return b.last[k], now[k] })
}

// renewed reports by how much the block is off its place in the first frame, where it was coded
// anew.
func (b *block) renewed(now []float32) (off float64, ok bool) {
	changed := 0
	var mean float32
	l := b.light(now)
	for k, v := range now {
		mean += v - b.ref[k]
		if l.Differs(b.last[k], v) != 0 {
			changed++
		}
	}
	n := float32(len(now))
	if float32(changed) < renewedLeast*n {
		return 0, false
	}
	mean /= n
	var sum, left float64
	for k, v := range now {
		sum += float64(b.slope[k] * (v - b.ref[k] - mean))
	}
	off = -sum / b.power
	for k, v := range now {
		e := float64(v-b.ref[k]-mean) + off*float64(b.slope[k])
		left += e * e
	}
	most := renewalLeft + 0.1*math.Sqrt(b.power/float64(n))
	return off, left < float64(n)*most*most
}

// steepBlocks picks the blocks that tell most of a shift.
func steepBlocks(l *footage.Luma) []block {
	var all []block
	for y := BlockSide; y+2*BlockSide <= l.Height; y += BlockSide {
		for x := BlockSide; x+2*BlockSide <= l.Width; x += BlockSide {
			if b := newBlock(l, x, y); b.power > leastPower {
				all = append(all, b)
			}
		}
	}
	slices.SortStableFunc(all, func(a, b block) int { return cmp.Compare(b.power, a.power) })
	near := map[[2]int]int{}
	var out []block
	for _, b := range all {
		at := [2]int{b.x / nearBlocks, b.y / nearBlocks}
		if near[at] == blocksNear || len(out) == mostBlocks {
			continue
		}
		near[at]++
		b.learn(l)
		out = append(out, b)
	}
	return out
}

// newBlock weighs a block: its steepest direction is the main axis of the products of its slopes.
func newBlock(l *footage.Luma, x, y int) block {
	b := block{x: x, y: y}
	var sx, sy, xx, xy, yy float64
	for k := range BlockSide * BlockSide {
		gx, gy := slopeAt(l, x+k%BlockSide, y+k/BlockSide)
		sx, sy = sx+gx, sy+gy
		xx, xy, yy = xx+gx*gx, xy+gx*gy, yy+gy*gy
	}
	const n = BlockSide * BlockSide
	xx, xy, yy = xx-sx*sx/n, xy-sx*sy/n, yy-sy*sy/n
	b.ny, b.nx = math.Sincos(0.5 * math.Atan2(2*xy, xx-yy))
	b.power = b.nx*b.nx*xx + 2*b.nx*b.ny*xy + b.ny*b.ny*yy
	b.mean = [2]float64{sx / n, sy / n}
	return b
}

// learn keeps how the block looks.
func (b *block) learn(l *footage.Luma) {
	const n = BlockSide * BlockSide
	b.slope, b.ref, b.last = make([]float32, n), make([]float32, n), make([]float32, n)
	for k := range b.slope {
		gx, gy := slopeAt(l, b.x+k%BlockSide, b.y+k/BlockSide)
		b.slope[k] = float32(b.nx*(gx-b.mean[0]) + b.ny*(gy-b.mean[1]))
	}
	b.copyTo(b.ref, l)
	copy(b.last, b.ref)
}

// slopeAt is the slope of the picture at a pixel, levels per px.
func slopeAt(l *footage.Luma, x, y int) (gx, gy float64) {
	gx = float64(register.Level(l, x+1, y)-register.Level(l, x-1, y)) / 2
	gy = float64(register.Level(l, x, y+1)-register.Level(l, x, y-1)) / 2
	return gx, gy
}
