package scene

import (
	"math"
	"runtime"

	"padside/guard"
)

// Backdrop is what stands still behind the launch.
type Backdrop struct {
	Trees   float64 // m, height of the tree line; 0: open horizon
	Beyond  float64 // m, how far away it stands
	Clouds  float64 // 0 to 1, how much of the sky they cover
	Dry     float64 // 0 to 1, from green grass to straw
	Defocus float64 // px, standard deviation of the blur of things far away
	Breeze  float64 // px, how far the tops of the trees sway
	Drift   float64 // px/s, how fast clouds move to the right
}

// shakenTiles is how fine the field of tiles is where the camera moves. Where it does not, a tile
// is a pixel: nothing in the backdrop is finer.
const shakenTiles = 2

// backdrop is the drawn field of tiles, a margin wider than the picture on each side so that a
// shaken camera still sees it.
type backdrop struct {
	canvas *canvas // at each tile the mean over a pixel's tiles that begin there
	margin int     // px
	tiles  int     // per pixel, along each side
}

// painter holds what the colours of the backdrop depend on.
type painter struct {
	Backdrop
	cam *Camera
	Light
	lamp   *lamp
	n      *noise
	pad    []vec   // feet of the launchers, for the ground's shadow and wear
	tile   float64 // rad, what one tile covers
	soften float64 // rad, blur of far edges
}

// drawBackdrop paints the field of tiles, rows shared among the processors.
func (s *Scene) drawBackdrop(margin, planes int) *backdrop {
	tiles := 1
	if s.moves() {
		tiles = shakenTiles
	}
	n := float64(tiles)
	w, h := (s.Camera.Width+2*margin)*tiles, (s.Camera.Height+2*margin)*tiles
	c := newCanvas(w, h, planes)
	p := &painter{
		Backdrop: s.Backdrop, cam: &s.Camera, Light: s.Light, lamp: s.lamp, n: newNoise(s.Seed),
		tile: 1 / (s.Camera.scale() * n), soften: (0.7 + s.Backdrop.Defocus) / s.Camera.scale(),
	}
	for _, v := range s.Vehicles {
		p.pad = append(p.pad, vec{v.Across, 0, v.Range})
	}
	ahead, right, down := s.Camera.axes()
	g := guard.NewGroup()
	g.SetLimit(runtime.GOMAXPROCS(0)) // pure arithmetic: one row per processor
	for y := range h {
		g.Go(func() error {
			v := (float64(y)+0.5)/n - 0.5 - float64(margin)
			for x := range w {
				u := (float64(x)+0.5)/n - 0.5 - float64(margin)
				nx, ny := s.Camera.straight(u, v)
				col := p.colour(ahead.add(right.times(nx)).add(down.times(ny)))
				if planes == 1 {
					c.planes[0][y*w+x] = float32(col.luminance())
					continue
				}
				for k := range planes {
					c.planes[k][y*w+x] = float32(col[k])
				}
			}
			return nil
		})
	}
	g.Must()
	c.blur(s.Camera.Blur * n)
	b := &backdrop{c, margin, tiles}
	b.gather(float32(s.gain()))
	return b
}

// colour returns what is seen in a direction.
func (p *painter) colour(d vec) RGB {
	flat := math.Hypot(d.x, d.z)
	elevation, azimuth := math.Atan2(d.y, flat), math.Atan2(d.x, d.z)
	if elevation < -p.soften { // no sky
		return p.trees(p.ground(d, elevation), elevation, azimuth)
	}
	if p.hidden(elevation) {
		return p.trees(RGB{}, elevation, azimuth)
	}
	col := p.sky(d, elevation, azimuth)
	if elevation < p.soften {
		col = p.ground(d, elevation).toward(col, smooth(-p.soften, p.soften, elevation))
	}
	return p.trees(col, elevation, azimuth)
}

// hidden tells whether a direction surely ends in the tree line, whatever its crowns do.
func (p *painter) hidden(elevation float64) bool {
	top := (p.Trees - p.cam.Elevation) / p.Beyond
	return p.Trees > 0 && elevation < 0.2*top-p.soften
}

// sky is a gradient with clouds, which lie on a plane overhead and so crowd toward the horizon.
func (p *painter) sky(d vec, elevation, azimuth float64) RGB {
	up := clamp01(elevation / 0.6)
	zenith, horizon := RGB{0.16, 0.30, 0.62}, RGB{0.56, 0.68, 0.82}
	col := horizon.toward(zenith, math.Pow(up, 0.6))
	if elevation <= 0 {
		return horizon
	}
	grey := 0.5 * (1 - p.lamp.direct)
	col = col.toward(RGB{0.66, 0.69, 0.73}, grey)
	// The distance is eased, or the lowest clouds would be slivers.
	k := 1 / (math.Sin(elevation) + 0.22)
	x, y := azimuth*3.2*k*1.1, 3.2*k
	finest := max(p.tile, p.soften) * 3.2 * k * 2
	base := p.n.fractal(x*0.55, y*0.9, finest, 6)
	cover := smooth(0.42-0.95*p.Clouds, 0.95-0.75*p.Clouds, base+0.25)
	lit := 0.5 + 0.5*clamp01(0.5+1.6*(base-p.n.fractal(x*0.55-0.10, y*0.9-0.16, finest, 5)))
	cloud := RGB{0.58, 0.61, 0.66}.toward(RGB{0.97, 0.96, 0.95}, lit)
	return p.halo(col.toward(cloud, 0.92*cover), d)
}

// ground is grass in perspective, worn around the pads, paler with distance.
func (p *painter) ground(d vec, elevation float64) RGB {
	down := max(-d.y, 1e-4)
	t := p.cam.Elevation / down
	x, z := p.cam.Across+d.x*t, d.z*t
	near := p.tile * math.Hypot(x-p.cam.Across, z) // m across one tile
	deep := near * max(1, math.Hypot(x, z)/p.cam.Elevation)
	patch := p.n.fractal(x/2.3+40, z/2.3, deep/2.3, 4)
	tuft := p.n.fractal(x/0.16, z/0.34, near/0.1, 4)
	blade := p.n.fractal(x/0.011, z/0.05, near/0.011, 3)
	green := RGB{0.105, 0.165, 0.045}.toward(RGB{0.36, 0.31, 0.15}, clamp01(p.Dry+0.35*patch))
	col := green.times(max(0.2, 0.85+0.45*tuft+0.45*blade+0.2*patch))
	for _, foot := range p.pad {
		r := math.Hypot(x-foot.x, (z-foot.z)*0.8)
		worn := smooth(0.75, 0.12, r+0.16*tuft)
		col = col.toward(RGB{0.23, 0.185, 0.125}.times(0.85+0.5*tuft+0.3*blade), 0.7*worn)
		shade := math.Exp(-(math.Pow((x-foot.x)/0.17, 2) + math.Pow((z-foot.z)/0.22, 2)))
		col = col.times(1 - 0.45*shade)
	}
	col = lit(col, p.lamp.ambient+0.8*p.lamp.direct*p.lamp.sun.y, p.lamp.tint)
	far := 1 - math.Exp(-math.Hypot(x, z)/(260-200*p.Haze))
	return col.toward(RGB{0.5, 0.56, 0.58}, 0.75*far)
}

func lit(c RGB, level float64, tint RGB) RGB {
	return RGB{c[0] * level * tint[0], c[1] * level * tint[1], c[2] * level * tint[2]}
}

// trees are two ridges: hills far behind, and the tree line with rounded crowns.
func (p *painter) trees(col RGB, elevation, azimuth float64) RGB {
	if elevation < -p.soften {
		return p.row(col, elevation, azimuth)
	}
	hill := 0.022 + 0.020*p.n.fractal(azimuth*5+3, 7.7, p.tile*5, 4)
	col = RGB{0.27, 0.35, 0.40}.toward(RGB{0.5, 0.58, 0.62}, 0.3+0.6*p.Haze).
		toward(col, max(smooth(-p.soften, p.soften, elevation-hill), smooth(p.soften, -p.soften, elevation)))
	return p.row(col, elevation, azimuth)
}

// row is the tree line itself.
func (p *painter) row(col RGB, elevation, azimuth float64) RGB {
	if p.Trees <= 0 {
		return col
	}
	top := (p.Trees - p.cam.Elevation) / p.Beyond
	if elevation > 1.5*top {
		return col
	}
	foot := -p.cam.Elevation / p.Beyond
	size := p.Trees / p.Beyond            // of a tree, rad
	crown := func(a, k float64) float64 { // rounded tops, sharp clefts between
		n := math.Abs(p.n.at(a/(size*k), 3.3*k))
		return 1.35 * n / (0.35 + n)
	}
	edge := top * (0.60 + 0.30*crown(azimuth, 1.1) + 0.14*crown(azimuth+5, 0.45) + 0.25*p.n.at(azimuth/(size*3.1), 1.7))
	edge += size * 0.05 * p.n.fractal(azimuth/(size*0.2), elevation/(size*0.2), p.soften/(size*0.2)*2, 3)
	inside := smooth(p.soften, -p.soften, elevation-edge) * smooth(foot-p.soften, foot+p.soften, elevation)
	if inside == 0 {
		return col
	}
	finest := max(p.tile, p.soften) * 2
	leaf := p.n.fractal(azimuth/(size*0.3), elevation/(size*0.22), finest/(size*0.25), 5)
	clump := p.n.fractal(azimuth/(size*0.75)+9, elevation/(size*0.6), finest/size, 3)
	high := clamp01((elevation - foot) / max(1e-6, edge-foot))
	shade := clamp01(0.30 + 0.45*high + 0.5*leaf + 0.35*clump)
	tree := RGB{0.018, 0.030, 0.014}.toward(RGB{0.15, 0.20, 0.062}, shade)
	tree = tree.toward(RGB{0.20, 0.16, 0.055}, 0.35*clamp01(p.n.at(azimuth/(size*1.3), 11)))
	tree = lit(tree, p.lamp.ambient+p.lamp.direct*0.8, p.lamp.tint)
	tree = tree.toward(RGB{0.42, 0.50, 0.54}, (1-math.Exp(-p.Beyond/700))*(0.5+p.Haze))
	return col.toward(tree, inside)
}

// blur spreads a canvas by a Gaussian (sd in its own pixels).
func (c *canvas) blur(sd float64) {
	if sd <= 0 {
		return
	}
	kernel := gaussian(sd)
	r := len(kernel) / 2
	for _, plane := range c.planes {
		g := guard.NewGroup()
		g.SetLimit(runtime.GOMAXPROCS(0))
		for y := range c.h {
			g.Go(func() error {
				row := plane[y*c.w : (y+1)*c.w]
				old := append([]float32(nil), row...)
				for x := range row {
					var sum float32
					for k, w := range kernel {
						sum += w * old[min(c.w-1, max(0, x+k-r))]
					}
					row[x] = sum
				}
				return nil
			})
		}
		g.Must()
		c.blurColumns(plane, kernel)
	}
}

// blurColumns does the second pass, with a ring of rows kept as they were.
func (c *canvas) blurColumns(plane []float32, kernel []float32) {
	r := len(kernel) / 2
	old := append([]float32(nil), plane...)
	g := guard.NewGroup()
	g.SetLimit(runtime.GOMAXPROCS(0))
	for y := range c.h {
		g.Go(func() error {
			row := plane[y*c.w : (y+1)*c.w]
			clear(row)
			for k, w := range kernel {
				from := old[min(c.h-1, max(0, y+k-r))*c.w:]
				for x := range row {
					row[x] += w * from[x]
				}
			}
			return nil
		})
	}
	g.Must()
}

// gather puts the mean over the tiles of a pixel, times gain, in the place of its first.
func (b *backdrop) gather(gain float32) {
	share := gain / float32(b.tiles*b.tiles)
	for _, plane := range b.canvas.planes {
		for at := range plane {
			var sum float32
			for i := range b.tiles * b.tiles {
				if k := at + i/b.tiles*b.canvas.w + i%b.tiles; k < len(plane) { // what goes over the end is not looked at
					sum += plane[k]
				}
			}
			plane[at] = sum * share
		}
	}
}

// view averages the tiles over each pixel of a picture moved by (dx, dy) px, into c: the exact
// mean of a world made of flat tiles, which is that of the four whole sets of tiles the pixel lies between.
func (b *backdrop) view(c *canvas, dx, dy float64) {
	limit := float64(b.margin) - 1
	dx, dy = max(-limit, min(limit, dx)), max(-limit, min(limit, dy))
	x0, px := b.first(float64(b.margin) - dx)
	y0, py := b.first(float64(b.margin) - dy)
	w := [4]float32{(1 - px) * (1 - py), px * (1 - py), (1 - px) * py, px * py}
	for k, plane := range c.planes {
		from := b.canvas.planes[k]
		for y := range c.h {
			upper := from[(y0+y*b.tiles)*b.canvas.w+x0:]
			lower := upper[b.canvas.w:]
			i := 0
			for x := range plane[y*c.w : (y+1)*c.w] {
				plane[y*c.w+x] = w[0]*upper[i] + w[1]*upper[i+1] + w[2]*lower[i] + w[3]*lower[i+1]
				i += b.tiles
			}
		}
	}
}

// first returns the first tile under a pixel that begins at edge (px from the field's left
// or upper edge) and which part of that tile lies before the edge.
func (b *backdrop) first(edge float64) (tile int, part float32) {
	e := edge * float64(b.tiles)
	tile = int(math.Floor(e))
	return tile, float32(e - float64(tile))
}
