package footage

import (
	"bytes"
	"encoding/binary"
	"io"

	"padside/disk"
)

// slowMarks says whether a file ends in the trailer by which some phones mark slow motion: at the very end "SEFT", before it the
// length of a directory that begins with "SEFH" and lists named entries (layout read off such files; the maker publishes none).
// What is damaged counts as absent.
func slowMarks(path string) bool {
	f, err := disk.Open(path)
	if err != nil {
		return false
	}
	defer f.Close()
	st, err := f.Stat()
	if err != nil {
		return false
	}
	const most = 1 << 20
	n := min(st.Size(), most)
	b := make([]byte, n)
	if _, err := f.ReadAt(b, st.Size()-n); err != nil && err != io.EOF {
		return false
	}
	return trailerMarks(b)
}

// trailerMarks looks into the last bytes of a file.
func trailerMarks(b []byte) bool {
	const entry = 12
	b, ok := bytes.CutSuffix(b, []byte("SEFT"))
	if !ok || len(b) < 4 {
		return false
	}
	size := int64(binary.LittleEndian.Uint32(b[len(b)-4:]))
	b = b[:len(b)-4]
	at := int64(len(b)) - size
	if size < entry || at < 0 || !bytes.HasPrefix(b[at:], []byte("SEFH")) {
		return false
	}
	list := b[at+entry:]
	count := min(int64(binary.LittleEndian.Uint32(b[at+8:])), int64(len(list))/entry)
	for k := range count {
		e := list[k*entry:]
		back, length := int64(binary.LittleEndian.Uint32(e[4:])), int64(binary.LittleEndian.Uint32(e[8:]))
		from := at - back
		if from < 0 || length < 8 || from+length > at {
			continue
		}
		named := b[from+8 : from+length]
		name := named[:min(int64(binary.LittleEndian.Uint32(b[from+4:])), int64(len(named)))]
		if bytes.Contains(name, []byte("SlowMotion")) {
			return true
		}
	}
	return false
}
