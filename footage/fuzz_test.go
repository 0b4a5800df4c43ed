package footage

import (
	"encoding/binary"
	"encoding/json"
	"strings"
	"testing"
)

// trailer makes the end of a file as phones write it: one named entry and its directory.
func trailer(name string) []byte {
	le := binary.LittleEndian
	b := append([]byte("moov"), 0, 0, 0x90, 0x08)
	b = append(le.AppendUint32(b, uint32(len(name))), name...)
	b = append(b, "88:879:2"...)
	length := uint32(len(b) - 4)
	b = append(b, "SEFH"...)
	b = le.AppendUint32(le.AppendUint32(b, 106), 1)
	b = append(b, 0, 0, 0x90, 0x08)
	b = le.AppendUint32(le.AppendUint32(b, length), length)
	return append(le.AppendUint32(b, 24), "SEFT"...)
}

func TestTrailerMarks(t *testing.T) {
	t.Parallel()
	for name, want := range map[string]bool{"SlowMotion_Data": true, "Super_SlowMotion_Data": true, "Image_UTC_Data": false, "": false} {
		if got := trailerMarks(trailer(name)); got != want {
			t.Errorf("trailerMarks(%q) = %v, want %v", name, got, want)
		}
	}
	if trailerMarks(nil) || trailerMarks([]byte("SEFT")) || trailerMarks(trailer("SlowMotion_Data")[40:]) {
		t.Error("a broken trailer counts")
	}
}

func FuzzTrailerMarks(f *testing.F) {
	f.Add(trailer("SlowMotion_Data"))
	f.Add([]byte("SEFH\xff\xff\xff\xff\xff\xff\xff\xff\x0c\x00\x00\x00SEFT"))
	f.Fuzz(func(_ *testing.T, b []byte) { trailerMarks(b) })
}

func FuzzParseShown(f *testing.F) {
	f.Add("[Parsed_showinfo_0 @ 0x5] [info] n:   7 pts:  -1536 pts_time:-0.1 pos:       48 fmt:yuv420p sar:1/1 s:64x48 i:P iskey:1 type:I \n")
	f.Add("[Parsed_showinfo_0 @ 0x5] [info] n:   7 pts:  NOPTS pts_time:NOPTS fmt:gray s:64x48 i:T")
	f.Add("[Parsed_showinfo_0 @ 0x5] [info] config in time_base: 1/15360, frame_rate: 60/1")
	f.Fuzz(func(t *testing.T, line string) {
		s, ok := parseShown([]byte(line))
		if ok && !strings.HasPrefix(line, "[Parsed_showinfo_") {
			t.Errorf("parseShown(%q) = %+v", line, s)
		}
	})
}

func TestParseShown(t *testing.T) {
	t.Parallel()
	for line, want := range map[string]shown{
		"[Parsed_showinfo_0 @ 0x5] [info] n:   7 pts:  -1536 pts_time:-0.1 fmt:gray sar:1/1 s:64x48 i:P iskey:1": {-1536, 64, 48, false},
		"[Parsed_showinfo_0 @ 0x5] [info] n:12345 pts:NOPTS pts_time:NOPTS fmt:gray sar:0/1 s:8x6 i:B iskey:1":   {noStamp, 8, 6, true},
	} {
		if got, ok := parseShown([]byte(line)); !ok || got != want {
			t.Errorf("parseShown(%q) = %+v, %v, want %+v", line, got, ok, want)
		}
	}
	if _, ok := parseShown([]byte("[h264 @ 0x5] [error] n: 3 pts: 4 s:1x1")); ok {
		t.Error("another line counts as a frame's")
	}
}

func FuzzParseProbed(f *testing.F) {
	f.Add(`{"packets":[{"pts":0,"flags":"K_"},{"flags":"_D"}],"programs":[],"streams":[{"codec_name":"h264","tags":{"a":"b"}}],"format":{"start_time":"0.1"}}`)
	f.Add(`{"packets":{"pts":`)
	f.Add(`[]`)
	f.Fuzz(func(t *testing.T, text string) {
		var p probed
		if err := p.parse(json.NewDecoder(strings.NewReader(text))); err == nil && len(p.packets) > len(text) {
			t.Errorf("parse(%q) = %d packets", text, len(p.packets))
		}
		p.format.start()
		rational(p.track.TimeBase)
		fastIndex(p.packets)
	})
}
