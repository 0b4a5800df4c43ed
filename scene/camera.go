package scene

import (
	"math"

	"padside/camera"
)

// Camera is a pinhole with radial distortion, and how it was set.
type Camera struct {
	Width, Height int     // px
	FocalLength   float64 // m
	PixelPitch    float64 // m
	Across        float64 // m, position X
	Elevation     float64 // m, position Y: height of the lens above the ground
	Tilt          float64 // rad, up is positive
	Roll          float64 // rad, clockwise as seen from behind the camera
	// K1, K2 bend the picture: a point at r = distance from the axis / focal length is
	// seen at r (1 + K1 r^2 + K2 r^4) (D. C. Brown, Photogramm. Eng. 32 (1966) 444).
	K1, K2   float64
	Exposure float64 // s
	RowTime  float64 // s, rolling shutter: delay from one row to the next, or from one column to the next by Readout; not negative
	Readout  Readout // which side is read first
	Blur     float64 // px, standard deviation of the lens's blur in focus
	Shake    float64 // px, root mean square of hand or tripod movement
	Sway     Sway    // roll and zoom while one films
}

// vec is a point or direction of the world.
type vec struct{ x, y, z float64 }

func (a vec) add(b vec) vec              { return vec{a.x + b.x, a.y + b.y, a.z + b.z} }
func (a vec) sub(b vec) vec              { return vec{a.x - b.x, a.y - b.y, a.z - b.z} }
func (a vec) times(k float64) vec        { return vec{a.x * k, a.y * k, a.z * k} }
func (a vec) dot(b vec) float64          { return a.x*b.x + a.y*b.y + a.z*b.z }
func (a vec) cross(b vec) vec            { return vec{a.y*b.z - a.z*b.y, a.z*b.x - a.x*b.z, a.x*b.y - a.y*b.x} }
func (a vec) unit() vec                  { return a.times(1 / math.Sqrt(a.dot(a))) }
func (c *Camera) position() vec          { return vec{c.Across, c.Elevation, 0} }
func (c *Camera) centre() (x, y float64) { return float64(c.Width-1) / 2, float64(c.Height-1) / 2 }

// scale is the focal length in pixels.
func (c *Camera) scale() float64 { return c.FocalLength / c.PixelPitch }

// Project returns where a point of the world (X, Y, Z) is seen, without shake. It must lie
// in front of the camera.
func (c *Camera) Project(x, y, z float64) camera.Pixel {
	p := vec{x, y, z}.sub(c.position())
	st, ct := math.Sincos(c.Tilt)
	up, ahead := p.y*ct-p.z*st, p.z*ct+p.y*st
	sr, cr := math.Sincos(c.Roll)
	nx, ny := (p.x*cr-up*sr)/ahead, -(up*cr+p.x*sr)/ahead
	r2 := nx*nx + ny*ny
	k := c.scale() * (1 + r2*(c.K1+r2*c.K2))
	cx, cy := c.centre()
	return camera.Pixel{X: cx + k*nx, Y: cy + k*ny}
}

// straight returns the place (x, y) of the picture in units of the focal length from its
// centre, with the lens's distortion taken out.
func (c *Camera) straight(x, y float64) (nx, ny float64) {
	cx, cy := c.centre()
	nx, ny = (x-cx)/c.scale(), (y-cy)/c.scale()
	if c.K1 == 0 && c.K2 == 0 {
		return nx, ny
	}
	rd := math.Sqrt(nx*nx + ny*ny)
	if rd == 0 {
		return nx, ny
	}
	r := rd
	for range 12 { // Newton: r (1 + K1 r^2 + K2 r^4) = rd
		r2 := r * r
		step := (r*(1+r2*(c.K1+r2*c.K2)) - rd) / (1 + r2*(3*c.K1+5*r2*c.K2))
		r -= step
		if math.Abs(step) < 1e-14 {
			break
		}
	}
	return nx * r / rd, ny * r / rd
}

// axes returns the world's directions of the optical axis, of the picture's rows and of its
// columns downward. A place (nx, ny) looks along ahead + nx right + ny down.
func (c *Camera) axes() (ahead, right, down vec) {
	st, ct := math.Sincos(c.Tilt)
	sr, cr := math.Sincos(c.Roll)
	up := vec{0, ct, -st}
	level := vec{1, 0, 0}
	return vec{0, st, ct}, level.times(cr).sub(up.times(sr)), level.times(-sr).sub(up.times(cr))
}

// sheet is a plane that stands in the world facing the camera: an axis and the direction
// across it. Solid things are cut-outs in such planes.
type sheet struct {
	camera                *Camera
	origin, along, across vec
	toward                vec // unit, across the axis to the camera
	// A place (nx, ny) of the straightened picture is seen on the sheet at
	// offset + reach (toward . m)/(normal . m), m = (1, nx, ny).
	normal, lengthwise, sideways vec
	reach, offsetA, offsetC      float64
}

// newSheet returns the sheet through origin with the given axis (unit length), turned to
// face the camera; across points to the right.
func newSheet(c *Camera, origin, along vec) sheet {
	across := c.position().sub(origin).cross(along)
	if across.x < 0 {
		across = across.times(-1)
	}
	across = across.unit()
	n := across.cross(along)
	ahead, right, down := c.axes()
	in := func(d vec) vec { return vec{d.dot(ahead), d.dot(right), d.dot(down)} }
	from := c.position().sub(origin)
	return sheet{c, origin, along, across, from.sub(along.times(from.dot(along))).unit(), in(n), in(along), in(across), -n.dot(from), from.dot(along), from.dot(across)}
}

// view is where the camera stands as the axis has it. It stands before the axis: none of its distance is across.
func (s *sheet) view() view { return view{math.Abs(s.reach), s.offsetA} }

// locate returns the place on the sheet that is seen at (x, y): distance along the axis and
// across it.
func (s *sheet) locate(x, y float64) (along, across float64) {
	nx, ny := s.camera.straight(x, y)
	k := s.reach / (s.normal.x + nx*s.normal.y + ny*s.normal.z)
	along = s.offsetA + k*(s.lengthwise.x+nx*s.lengthwise.y+ny*s.lengthwise.z)
	across = s.offsetC + k*(s.sideways.x+nx*s.sideways.y+ny*s.sideways.z)
	return along, across
}

// see returns where a place on the sheet is seen.
func (s *sheet) see(along, across float64) camera.Pixel {
	p := s.origin.add(s.along.times(along)).add(s.across.times(across))
	return s.camera.Project(p.x, p.y, p.z)
}

// before returns where a point is seen that lies depth before the axis.
func (s *sheet) before(along, depth float64) camera.Pixel {
	p := s.origin.add(s.along.times(along)).add(s.toward.times(depth))
	return s.camera.Project(p.x, p.y, p.z)
}

// shakeAt returns by how much the picture is moved at time t, px: a sum of sines between 0.3
// and 14 Hz with amplitudes that fall with frequency, as a random walk's do.
func (c *Camera) shakeAt(t float64, seed uint64) (dx, dy float64) {
	if c.Shake == 0 {
		return 0, 0
	}
	const n = 14
	var sum float64
	for i := range n {
		f := 0.3 * math.Pow(14/0.3, float64(i)/(n-1))
		a := 1 / f
		px, py := unitHash(seed, 2*i), unitHash(seed, 2*i+1)
		dx += a * math.Sin(2*math.Pi*(f*t+px))
		dy += a * math.Sin(2*math.Pi*(f*t*1.07+py))
		sum += a * a / 2
	}
	k := c.Shake / math.Sqrt(2*sum) // rms of (dx, dy) together
	return k * dx, k * dy
}

// unitHash returns a number in [0, 1) that depends on seed and i alone.
func unitHash(seed uint64, i int) float64 {
	return float64(mix(seed+uint64(i)*0x9e3779b97f4a7c15)>>11) / (1 << 53)
}

// mix scrambles the bits of x (the finaliser of splitmix64: G. L. Steele et al., OOPSLA 2014).
func mix(x uint64) uint64 {
	x ^= x >> 30
	x *= 0xbf58476d1ce4e5b9
	x ^= x >> 27
	x *= 0x94d049bb133111eb
	return x ^ x>>31
}
