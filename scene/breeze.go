package scene

import "math"

// gridStep is how many pixels lie between places whose source in the backdrop is worked out; between them it is taken as linear.
const gridStep = 8

// behind draws the backdrop as it is seen at one frame.
func (s *Scene) behind(c *canvas, at shown) {
	if s.Camera.Sway == (Sway{}) && s.Backdrop.Breeze == 0 && s.Backdrop.Drift == 0 && !at.rolls() {
		p := at.pose(0, 0)
		s.back.view(c, p.dx, p.dy)
		return
	}
	ahead, right, down := at.axes()
	air := s.breeze(at.t)
	source := func(x, y float64) (u, v float64) {
		nx, ny := at.straight(at.source(x, y))
		d := ahead.add(right.times(nx)).add(down.times(ny))
		seen := s.Camera.Project(d.x+s.Camera.Across, d.y+s.Camera.Elevation, d.z)
		bx, by := air(d)
		return seen.X - bx, seen.Y - by
	}
	s.back.warped(c, source)
}

// breeze returns by how much (px) what is seen in a direction has moved at time t since the backdrop was drawn: clouds to the right, trees to and fro,
// their tops most, each crown in its own time.
func (s *Scene) breeze(t float64) func(d vec) (x, y float64) {
	b := &s.Backdrop
	top, foot := 0.01, 0.0
	if b.Trees > 0 {
		top, foot = 1.5*(b.Trees-s.Camera.Elevation)/b.Beyond, -s.Camera.Elevation/b.Beyond
	}
	since := t - s.Stamps[0]
	return func(d vec) (x, y float64) {
		elevation, azimuth := math.Atan2(d.y, math.Hypot(d.x, d.z)), math.Atan2(d.x, d.z)
		x = b.Drift * since * smooth(top, 1.3*top+0.02, elevation)
		if b.Breeze > 0 && b.Trees > 0 {
			high := smooth(foot, 0.8*top, elevation) * smooth(1.3*top+0.01, top, elevation)
			phase := 9 * s.air.at(azimuth*b.Beyond/6, elevation*b.Beyond/6)
			gust := 0.6 + 0.4*math.Sin(0.9*t+phase/3)
			x += b.Breeze * high * gust * math.Sin(2*math.Pi*0.7*t+phase)
			y += 0.35 * b.Breeze * high * gust * math.Sin(2*math.Pi*1.3*t+1.7*phase)
		}
		return x, y
	}
}

// warped shows at each pixel of c what lies at its source in the backdrop as it was drawn (px of the unmoved picture).
func (b *backdrop) warped(c *canvas, source func(x, y float64) (u, v float64)) {
	cols, rows := c.w/gridStep+2, c.h/gridStep+2
	grid := make([][2]float64, cols*rows)
	for j := range rows {
		for i := range cols {
			u, v := source(float64(i*gridStep), float64(j*gridStep))
			grid[j*cols+i] = [2]float64{u, v}
		}
	}
	mid := func(a, b [2]float64, t float64) [2]float64 {
		return [2]float64{mixf(a[0], b[0], t), mixf(a[1], b[1], t)}
	}
	for y := range c.h {
		j, fy := y/gridStep, float64(y%gridStep)/gridStep
		for x := range c.w {
			i, fx := x/gridStep, float64(x%gridStep)/gridStep
			near := grid[j*cols+i:]
			far := near[cols:]
			p := mid(mid(near[0], near[1], fx), mid(far[0], far[1], fx), fy)
			b.sample(c, y*c.w+x, p)
		}
	}
}

// sample puts the mean over the pixel around a place of the unmoved picture at a place of the canvas. See view.
func (b *backdrop) sample(c *canvas, at int, p [2]float64) {
	x0, px := b.first(p[0] + float64(b.margin))
	y0, py := b.first(p[1] + float64(b.margin))
	x0, y0 = max(0, min(b.canvas.w-2, x0)), max(0, min(b.canvas.h-2, y0))
	from := y0*b.canvas.w + x0
	for k, plane := range c.planes {
		f := b.canvas.planes[k][from:]
		low := f[b.canvas.w:]
		plane[at] = (1-py)*((1-px)*f[0]+px*f[1]) + py*((1-px)*low[0]+px*low[1])
	}
}
