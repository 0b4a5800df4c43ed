package scene

import (
	"encoding/binary"
	"fmt"
	"os"
)

// Turned is how far (degrees clockwise) a file says its pictures are to be turned to stand upright. A phone held upright stores its pictures lying.
type Turned int

// Turned returns the turn at which the rows of the stored picture, top row first, are what a readout reads first.
func (r Readout) Turned() Turned {
	return map[Readout]Turned{FromTop: 0, FromRight: 90, FromBottom: 180, FromLeft: 270}[r]
}

// size is the size at which a picture of w by h pixels is stored.
func (t Turned) size(w, h int) (int, int) {
	if t%180 != 0 {
		return h, w
	}
	return w, h
}

// store returns 4:2:0 planes of a picture of w by h pixels as they are stored.
func (t Turned) store(planes []byte, w, h int) []byte {
	if t == 0 {
		return planes
	}
	out := make([]byte, 0, len(planes))
	for _, size := range [][2]int{{w, h}, {w / 2, h / 2}, {w / 2, h / 2}} {
		n := size[0] * size[1]
		out = t.storePlane(out, planes[:n], size)
		planes = planes[n:]
	}
	return out
}

// storePlane appends one plane.
func (t Turned) storePlane(out, plane []byte, size [2]int) []byte {
	w, h := size[0], size[1]
	sw, sh := t.size(w, h)
	for y := range sh {
		for x := range sw {
			switch t {
			case 90:
				out = append(out, plane[x*w+w-1-y])
			case 180:
				out = append(out, plane[(h-1-y)*w+w-1-x])
			default:
				out = append(out, plane[(h-1-x)*w+y])
			}
		}
	}
	return out
}

// say writes the turn into the file at path, which holds pictures stored at w by h: the matrix of each track's header box (ISO/IEC 14496-12, 6.2.2 and 8.3.2).
func (t Turned) say(path string, w, h int) error {
	if t == 0 {
		return nil
	}
	data, err := os.ReadFile(path)
	if err != nil {
		return fmt.Errorf("turn clip: %w", err)
	}
	const one = 1 << 16
	turn := map[Turned][6]int32{ // a b c d x y
		90:  {0, one, -one, 0, int32(h) * one, 0},
		180: {-one, 0, 0, -one, int32(w) * one, int32(h) * one},
		270: {0, -one, one, 0, 0, int32(w) * one},
	}[t]
	found := false
	within(data, "moov", func(moov []byte) {
		within(moov, "trak", func(trak []byte) {
			within(trak, "tkhd", func(header []byte) {
				at := 40
				if header[0] == 1 { // times of 64 bits
					at = 52
				}
				for i, v := range turn {
					row, column := i/2, i%2
					binary.BigEndian.PutUint32(header[at+12*row+4*column:], uint32(v))
				}
				found = true
			})
		})
	})
	if !found {
		return fmt.Errorf("turn clip: %s has no track header", path)
	}
	return os.WriteFile(path, data, 0o644)
}

// within calls do with the content of each box of a kind.
func within(data []byte, kind string, do func(content []byte)) {
	for len(data) >= 8 {
		size, head := uint64(binary.BigEndian.Uint32(data)), uint64(8)
		if size == 1 && len(data) >= 16 {
			size, head = binary.BigEndian.Uint64(data[8:]), 16
		}
		if size == 0 || size > uint64(len(data)) {
			size = uint64(len(data))
		}
		if size < head {
			return
		}
		if string(data[4:8]) == kind {
			do(data[head:size])
		}
		data = data[size:]
	}
}
