package footage

import (
	"bytes"
	"encoding/binary"
	"math/big"
	"strings"
	"time"
)

// exif is what is used of a still's tags (Exif 2.3, CIPA DC-008); zero where unknown.
type exif struct {
	time     *big.Rat // s since 1970 on the camera's clock; nil where unknown
	digits   int      // decimals of the second
	offset   *int     // s by which the camera's clock is ahead of UTC; nil where unknown
	exposure float64  // s
	fNumber  float64
	iso      int
	focal    float64 // m
	focal35  float64 // m, of the lens that shows as much on 36 x 24 mm
	lay      orientation
}

// The tags read, and the most entries a directory may have.
const (
	tagOrientation = 0x0112
	tagExposure    = 0x829a
	tagFNumber     = 0x829d
	tagExif        = 0x8769
	tagISO         = 0x8827
	tagOriginal    = 0x9003
	tagOffset      = 0x9011
	tagSubSec      = 0x9291
	tagFocal       = 0x920a
	tagFocal35     = 0xa405
	mostEntries    = 1000
)

// readEXIF reads the tags of a JPEG, PNG or TIFF file. What is damaged counts as absent. Two
// directories are read and no chain is followed, so hostile files cannot hold it up.
func readEXIF(data []byte) exif {
	d, ok := newTags(exifBlock(data))
	if !ok {
		return exif{}
	}
	var x exif
	first := d.directory(d.order.Uint32(d.data[4:]))
	x.lay = fromEXIF(d.number(first[tagOrientation]))
	sub := d.directory(d.number(first[tagExif]))
	x.exposure = d.ratio(sub[tagExposure])
	x.fNumber = d.ratio(sub[tagFNumber])
	x.focal = d.ratio(sub[tagFocal]) / 1000
	x.focal35 = float64(d.number(sub[tagFocal35])) / 1000
	x.iso = int(d.number(sub[tagISO]))
	x.setTime(text(d.value(sub[tagOriginal], 2)), text(d.value(sub[tagSubSec], 2)))
	x.setOffset(text(d.value(sub[tagOffset], 2)))
	return x
}

// setTime reads DateTimeOriginal and SubSecTimeOriginal. The latter is a string of decimals:
// "05" is 0.05 s.
func (x *exif) setTime(original, decimals string) {
	t, err := time.Parse("2006:01:02 15:04:05", original)
	if err != nil {
		return
	}
	x.time = new(big.Rat).SetInt64(t.Unix())
	if n := len(decimals); n == 0 || n > 9 || digits(decimals) != n {
		return
	}
	part, ok := new(big.Rat).SetString("0." + decimals)
	if ok {
		x.time.Add(x.time, part)
		x.digits = len(decimals)
	}
}

// setOffset reads OffsetTimeOriginal, "+01:30".
func (x *exif) setOffset(s string) {
	if t, err := time.Parse("-07:00", s); err == nil {
		_, ahead := t.Zone()
		x.offset = &ahead
	}
}

// exifBlock finds the TIFF structure that holds the tags; nil where there is none.
func exifBlock(b []byte) []byte {
	switch {
	case bytes.HasPrefix(b, []byte("II*\x00")), bytes.HasPrefix(b, []byte("MM\x00*")):
		return b
	case bytes.HasPrefix(b, []byte("\x89PNG\r\n\x1a\n")):
		for b = b[8:]; len(b) >= 12; {
			n := int64(binary.BigEndian.Uint32(b))
			if n+12 > int64(len(b)) {
				return nil
			}
			if string(b[4:8]) == "eXIf" {
				return b[8 : 8+n]
			}
			b = b[n+12:]
		}
	case bytes.HasPrefix(b, []byte("\xff\xd8")):
		for b = b[2:]; len(b) >= 4 && b[0] == 0xff && b[1] != 0xda; {
			if b[1] == 0xff { // padding
				b = b[1:]
				continue
			}
			n := int(binary.BigEndian.Uint16(b[2:]))
			if n < 2 || n+2 > len(b) {
				return nil
			}
			if body := b[4 : n+2]; b[1] == 0xe1 && bytes.HasPrefix(body, []byte("Exif\x00\x00")) {
				return body[6:]
			}
			b = b[n+2:]
		}
	}
	return nil
}

// tags is a TIFF structure.
type tags struct {
	data  []byte
	order binary.ByteOrder
}

func newTags(b []byte) (tags, bool) {
	if len(b) < 8 {
		return tags{}, false
	}
	switch string(b[:4]) {
	case "II*\x00":
		return tags{b, binary.LittleEndian}, true
	case "MM\x00*":
		return tags{b, binary.BigEndian}, true
	}
	return tags{}, false
}

// directory returns the 12-byte entries of the directory at an offset, by tag.
func (t tags) directory(at uint32) map[uint16][]byte {
	if at < 8 || int64(at)+2 > int64(len(t.data)) {
		return nil
	}
	b := t.data[at:]
	n := min(int(t.order.Uint16(b)), mostEntries, (len(b)-2)/12)
	found := make(map[uint16][]byte, n)
	for i := range n {
		e := b[2+12*i : 14+12*i]
		found[t.order.Uint16(e)] = e
	}
	return found
}

// value returns the bytes of an entry of the given type (2 text, 3 short, 4 long, 5 rational).
func (t tags) value(e []byte, kind uint16) []byte {
	if len(e) != 12 || t.order.Uint16(e[2:]) != kind {
		return nil
	}
	n := int64(t.order.Uint32(e[4:])) * map[uint16]int64{2: 1, 3: 2, 4: 4, 5: 8}[kind]
	if n <= 4 {
		return e[8 : 8+n]
	}
	at := int64(t.order.Uint32(e[8:]))
	if at+n > int64(len(t.data)) {
		return nil
	}
	return t.data[at : at+n]
}

// number returns a short or long; 0 where there is none.
func (t tags) number(e []byte) uint32 {
	if v := t.value(e, 3); len(v) >= 2 {
		return uint32(t.order.Uint16(v))
	}
	if v := t.value(e, 4); len(v) >= 4 {
		return t.order.Uint32(v)
	}
	return 0
}

// ratio returns a positive rational; 0 where there is none.
func (t tags) ratio(e []byte) float64 {
	v := t.value(e, 5)
	if len(v) < 8 {
		return 0
	}
	n, m := t.order.Uint32(v), t.order.Uint32(v[4:])
	if m == 0 {
		return 0
	}
	return float64(n) / float64(m)
}

// text ends at the first zero byte; spaces around it are filling.
func text(b []byte) string {
	b, _, _ = bytes.Cut(b, []byte{0})
	return strings.TrimSpace(string(b))
}
