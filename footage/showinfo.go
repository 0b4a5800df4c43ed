package footage

import (
	"bytes"
	"strconv"
)

// shown is what ffmpeg's showinfo filter says of one frame.
type shown struct {
	pts           int64 // noStamp where it has none
	width, height int
	woven         bool // interlaced
}

// noStamp stands for a frame without a stamp.
const noStamp = -1 << 63

var (
	showMark  = []byte("[Parsed_showinfo_")
	frameMark = []byte(" n:")
	ptsMark   = []byte(" pts:")
	sizeMark  = []byte(" s:")
	fieldMark = []byte(" i:")
)

// parseShown reads a frame line of showinfo, "[Parsed_showinfo_0 @ 0x1] [info] n:   3 pts:   1536 pts_time:0.1 ... s:64x48 i:P ...";
// ok is false for every other line.
func parseShown(line []byte) (s shown, ok bool) {
	if !bytes.HasPrefix(line, showMark) || !bytes.Contains(line, frameMark) {
		return s, false
	}
	pts, ok := wordAfter(line, ptsMark)
	if !ok {
		return s, false
	}
	var err error
	if s.pts, err = strconv.ParseInt(string(pts), 10, 64); err != nil {
		s.pts = noStamp
	}
	size, ok := wordAfter(line, sizeMark)
	w, h, found := bytes.Cut(size, []byte("x"))
	if !ok || !found {
		return s, false
	}
	s.width, err = strconv.Atoi(string(w))
	if err != nil {
		return s, false
	}
	if s.height, err = strconv.Atoi(string(h)); err != nil {
		return s, false
	}
	field, _ := wordAfter(line, fieldMark)
	s.woven = len(field) == 1 && (field[0] == 'T' || field[0] == 'B')
	return s, true
}

// wordAfter is the word that follows a mark, blanks between them or not.
func wordAfter(line, mark []byte) ([]byte, bool) {
	_, rest, ok := bytes.Cut(line, mark)
	if !ok {
		return nil, false
	}
	rest = bytes.TrimLeft(rest, " ")
	if i := bytes.IndexAny(rest, " \r\n"); i >= 0 {
		rest = rest[:i]
	}
	return rest, len(rest) > 0
}
