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

// Frame is one decoded frame.
type Frame struct {
	Index int
	Luma  *Luma
}
