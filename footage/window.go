package footage

import "math"

// Unit is what one step of the samples is worth in levels of an 8-bit picture:
// 1 for 8 bits, 2^(8-Depth) for deeper samples.
func (l *Luma) Unit() float64 {
	if l.Pix16 == nil {
		return 1
	}
	return math.Ldexp(1, 8-l.Depth)
}

// At returns the brightness of pixel (x, y) in levels of an 8-bit picture, whatever the depth:
// 0 to less than 256. The pixel must lie in the picture; it is not checked here.
func (l *Luma) At(x, y int) float64 {
	i := y*l.Width + x
	if l.Pix16 != nil {
		return float64(l.Pix16[i]) * l.Unit()
	}
	return float64(l.Pix8[i])
}

// Window copies the w x h pixels whose top left one is (x, y) into dst, row by row, in levels
// of an 8-bit picture as At gives them, and returns dst cut or grown to w*h. Outside the
// picture the border pixels are repeated. w and h must be positive.
func (l *Luma) Window(x, y, w, h int, dst []float32) []float32 {
	if cap(dst) < w*h {
		dst = make([]float32, w*h)
	}
	dst = dst[:w*h]
	if l.Pix16 == nil {
		cut(l.Pix8, l, [4]int{x, y, w, h}, dst)
		return dst
	}
	cut(l.Pix16, l, [4]int{x, y, w, h}, dst)
	unit := float32(l.Unit())
	for i := range dst {
		dst[i] *= unit
	}
	return dst
}

// cut copies the area x, y, w, h of the samples.
func cut[T uint8 | uint16](pix []T, l *Luma, area [4]int, dst []float32) {
	x, y, w, h := area[0], area[1], area[2], area[3]
	left := min(max(-x, 0), w)            // columns before the picture
	right := max(min(l.Width-x, w), left) // first column after it
	first, last := min(max(x, 0), l.Width-1), l.Width-1
	for j := range h {
		row := pix[min(max(y+j, 0), l.Height-1)*l.Width:][:l.Width]
		out := dst[j*w : (j+1)*w]
		for i := range left {
			out[i] = float32(row[0])
		}
		if right > left {
			for i, v := range row[first : first+right-left] {
				out[left+i] = float32(v)
			}
		}
		for i := right; i < w; i++ {
			out[i] = float32(row[last])
		}
	}
}
