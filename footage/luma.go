package footage

// Luma is one frame's brightness at full depth, after rotation.
// x to the right, y down, the centre of the top left pixel is (0, 0).
// Exactly one of Pix8 and Pix16 is set; rows follow each other without padding.
type Luma struct {
	Width, Height int
	Depth         int // significant bits per sample: 8, 10, 12, 16
	Pix8          []uint8
	Pix16         []uint16
}

// Frame is one decoded frame. Whoever holds it owns it.
type Frame struct {
	Index int
	Luma  *Luma

	pool *pool
}

// Release gives the frame's memory back to the footage it came from, for a later frame. The
// Luma must not be used afterwards. Not calling it costs memory traffic and nothing else;
// calling it twice, or on a frame made elsewhere, does nothing.
func (f *Frame) Release() {
	if f.pool != nil && f.Luma != nil {
		f.pool.put(f.Luma)
	}
	f.Luma, f.pool = nil, nil
}

// newLuma makes a Luma of the given size, black.
func newLuma(w, h, depth int) *Luma {
	l := &Luma{Width: w, Height: h, Depth: depth}
	if depth > 8 {
		l.Pix16 = make([]uint16, w*h)
	} else {
		l.Pix8 = make([]uint8, w*h)
	}
	return l
}

// take fills l from bytes as the decoder gives them: 8 bits, or 16 with the low byte first.
func (l *Luma) take(b []byte) {
	if l.Pix8 != nil {
		copy(l.Pix8, b)
		return
	}
	for k := range l.Pix16 {
		l.Pix16[k] = uint16(b[2*k]) | uint16(b[2*k+1])<<8
	}
}
