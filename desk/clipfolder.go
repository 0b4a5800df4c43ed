package desk

import (
	"bytes"
	"fmt"
	"image"
	"image/png"
	"os"
	"path/filepath"

	"padside/logbook"
)

// writePictures writes a folder of PNG pictures that appears whole or not at all. put writes one
// picture so many times.
func writePictures(dir string, draw func(put func(m *image.NRGBA, count int) error) error) error {
	n := 0
	encoder := png.Encoder{CompressionLevel: png.BestSpeed, BufferPool: &oneBuffer{}}
	var b bytes.Buffer
	return logbook.WriteFolderAtomic(dir, func(temp string) error {
		return draw(func(m *image.NRGBA, count int) error {
			b.Reset()
			if err := encoder.Encode(&b, m); err != nil {
				return fmt.Errorf("encode picture: %w", err)
			}
			for range count {
				if err := os.WriteFile(filepath.Join(temp, fmt.Sprintf("overlay-%05d.png", n)), b.Bytes(), 0o644); err != nil {
					return err
				}
				n++
			}
			return nil
		})
	})
}

// oneBuffer keeps what encoding one picture after another needs.
type oneBuffer struct{ kept *png.EncoderBuffer }

func (o *oneBuffer) Get() *png.EncoderBuffer  { return o.kept }
func (o *oneBuffer) Put(b *png.EncoderBuffer) { o.kept = b }
