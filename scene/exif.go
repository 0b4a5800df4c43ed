package scene

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"math"
	"time"
)

// exifEntry is one field of an image file directory: its value, or where a longer one lies.
type exifEntry struct {
	tag, kind uint16
	count     uint32
	data      []byte
}

// Types of fields (TIFF 6.0, section 2).
const (
	exifASCII     = 2
	exifShort     = 3
	exifLong      = 4
	exifRational  = 5
	exifUndefined = 7
)

func exifText(tag uint16, s string) exifEntry {
	return exifEntry{tag, exifASCII, uint32(len(s) + 1), append([]byte(s), 0)}
}

func exifRatio(tag uint16, num, den uint32) exifEntry {
	d := binary.LittleEndian.AppendUint32(nil, num)
	return exifEntry{tag, exifRational, 1, binary.LittleEndian.AppendUint32(d, den)}
}

// directory appends an image file directory that begins at offset len(b).
func directory(b []byte, entries []exifEntry) []byte {
	le := binary.LittleEndian
	data := uint32(len(b) + 2 + 12*len(entries) + 4)
	var long []byte
	b = le.AppendUint16(b, uint16(len(entries)))
	for _, e := range entries {
		b = le.AppendUint16(b, e.tag)
		b = le.AppendUint16(b, e.kind)
		b = le.AppendUint32(b, e.count)
		if len(e.data) <= 4 {
			b = append(b, append(bytes.Clone(e.data), 0, 0, 0, 0)[:4]...)
			continue
		}
		b = le.AppendUint32(b, data+uint32(len(long)))
		long = append(long, e.data...)
		if len(long)%2 == 1 {
			long = append(long, 0)
		}
	}
	b = le.AppendUint32(b, 0) // no further directory
	return append(b, long...)
}

// withEXIF puts an APP1 segment with the time of exposure into a JPEG file (CIPA DC-008):
// DateTimeOriginal, SubSecTimeOriginal to the millisecond, OffsetTimeOriginal, ExposureTime.
func withEXIF(jpeg []byte, start time.Time, exposure float64) []byte {
	le := binary.LittleEndian
	start = start.UTC().Round(time.Millisecond)
	ifd0 := []exifEntry{
		{0x0112, exifShort, 1, le.AppendUint16(nil, 1)}, // Orientation: as stored
		{0x8769, exifLong, 1, le.AppendUint32(nil, 8+2+2*12+4)},
	}
	b := directory(append([]byte("II*\x00"), 8, 0, 0, 0), ifd0)
	b = directory(b, []exifEntry{
		exifRatio(0x829A, 1, uint32(math.Round(1/max(exposure, 1e-9)))), // ExposureTime
		{0x9000, exifUndefined, 4, []byte("0232")},                      // ExifVersion
		exifText(0x9003, start.Format("2006:01:02 15:04:05")),           // DateTimeOriginal
		exifText(0x9011, "+00:00"),                                      // OffsetTimeOriginal
		exifText(0x9291, fmt.Sprintf("%03d", start.Nanosecond()/1e6)),   // SubSecTimeOriginal
	})
	out := append([]byte{0xff, 0xd8, 0xff, 0xe1}, 0, 0)
	binary.BigEndian.PutUint16(out[4:], uint16(2+6+len(b)))
	out = append(out, "Exif\x00\x00"...)
	out = append(out, b...)
	return append(out, jpeg[2:]...)
}
