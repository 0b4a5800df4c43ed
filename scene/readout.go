package scene

// Readout is the side of the picture, as it is stored, that a rolling shutter reads first. A camera held upright reads its
// rows sideways: the columns of the picture that one sees.
type Readout int

const (
	FromTop    Readout = iota // row by row, the top row first
	FromBottom                // row by row, the bottom row first: the camera stood on its head
	FromLeft                  // column by column, the left one first: the camera was held upright
	FromRight                 // column by column, the right one first: held upright the other way
)

// sideways says whether columns are read, not rows.
func (r Readout) sideways() bool { return r == FromLeft || r == FromRight }

// Lines is how many rows or columns are read one after the other.
func (c *Camera) Lines() int {
	if c.Readout.sideways() {
		return c.Width
	}
	return c.Height
}

// delay is how long after the first row or column (s) the place (x, y) of the picture begins its exposure.
func (c *Camera) delay(x, y float64) float64 {
	switch c.Readout {
	case FromBottom:
		return (float64(c.Height-1) - y) * c.RowTime
	case FromLeft:
		return x * c.RowTime
	case FromRight:
		return (float64(c.Width-1) - x) * c.RowTime
	}
	return y * c.RowTime
}

// Delay is how long after its stamp (s) the place (x, y) of a frame begins its exposure. Outside the picture it is that of the edge.
func (c *Camera) Delay(x, y float64) float64 {
	return c.delay(min(float64(c.Width-1), max(0, x)), min(float64(c.Height-1), max(0, y)))
}
