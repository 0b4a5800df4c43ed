package register

// compose returns the reference as it looks before the background at warp w: C + beta B, whose
// gradient with respect to the vehicle's place is that of C plus B times that of beta (the
// background itself stays where it is). It is nil where that has no texture left.
func (m *Matcher) compose(s *Scratch, w Warp) *Matcher {
	d := &s.composed
	d.u, d.v, d.weight, d.block, d.blocks, d.rough = m.u, m.v, m.weight, m.block, m.blocks, m.rough
	n := len(m.u)
	d.t = grow(d.t, n)
	for i := range d.reg {
		d.reg[i] = grow(d.reg[i], n)
	}
	copy(d.reg[1], m.reg[1])
	x0, y0, a, b := float32(w.X)+s.BX, float32(w.Y)+s.BY, float32(w.A), float32(w.B)
	maxX, maxY := float32(s.Back.W)-4.01, float32(s.Back.H)-4.01
	var mean, sw float64
	for k, beta := range m.beta {
		u, v := m.u[k], m.v[k]
		t, gx, gy := m.t[k]+m.mean, m.reg[2][k], m.reg[3][k]
		if sx, sy := m.slopeX[k], m.slopeY[k]; beta > 0.005 || sx*sx+sy*sy > 1e-5 {
			x, y := min(max(x0+a*u-b*v, 2), maxX), min(max(y0+b*u+a*v, 2), maxY)
			back := s.Back.At(x, y)
			t += beta * back
			gx += sx * back
			gy += sy * back
		}
		d.t[k], d.reg[2][k], d.reg[3][k] = t, gx, gy
		if m.n == MaxTerms {
			d.reg[4][k], d.reg[5][k] = gx*u+gy*v, gy*u-gx*v
		}
		mean += float64(t * m.weight[k])
		sw += float64(m.weight[k])
	}
	d.mean = float32(mean / sw)
	for k := range d.t {
		d.t[k] -= d.mean
		d.reg[0][k] = d.t[k]
	}
	if !d.solve(m.n) {
		return nil
	}
	return d
}
