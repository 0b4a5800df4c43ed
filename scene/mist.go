package scene

// mist lays a veil over all that was drawn: Light.Mist of it is hidden on average, more here than there, and it drifts with the wind.
func (s *Scene) mist(c *canvas, at shown) {
	if s.Light.Mist == 0 {
		return
	}
	const patch = 170.0 // px
	white := RGB{0.78, 0.80, 0.82}.times(s.gain() * (s.lamp.ambient + 0.4*s.lamp.direct))
	drift := s.Wind * at.t * 12 // px: what is near moves most
	uneven := make([]float64, c.w)
	for y := range c.h {
		clear(uneven)
		s.air.row(uneven, -drift/patch+7.7, 1/patch, float64(y)/(0.6*patch), 0.5)
		s.air.row(uneven, -1.6*drift/patch+3.1, 2.3/patch, float64(y)/(0.25*patch)+9.9, 0.3)
		for k, plane := range c.planes {
			light := float32(white[k])
			if len(c.planes) == 1 {
				light = float32(white.luminance())
			}
			row := plane[y*c.w : (y+1)*c.w]
			for x := range row {
				hide := float32(clamp01(s.Light.Mist * (1 + uneven[x])))
				row[x] += hide * (light - row[x])
			}
		}
	}
}
