package main

import (
	"context"
	"image"
	"image/color"
	"image/draw"
	"image/png"
	"os"

	"padside/footage"
	"padside/scene"
	"padside/trace"
)

const (
	sheetHalf   = 110 // px to either side of the flight line
	sheetFrames = 20
)

// drawSheet writes strips of up to sheetFrames frames side by side, from the last one at rest to the last of the footage, with the truth as a
// red tick at the left and the trace as a green one at the right of each.
func drawSheet(ctx context.Context, path string, t *scene.Take, src trace.Source, p *trace.Path) error {
	s := t.Scene
	seen := followed(s, p)
	from := 0
	for seen.Truth(from+1).Height == 0 && from+2 < s.Frames() {
		from++
	}
	step := max(1, (s.Frames()-from+sheetFrames-1)/sheetFrames)
	_, height := src.Size()
	wide := 2*sheetHalf + 4
	sheet := image.NewRGBA(image.Rect(0, 0, wide*((s.Frames()-from+step-1)/step), height))
	at := map[int]trace.Point{}
	for _, q := range p.Points {
		at[q.Frame] = q
	}
	err := src.Read(ctx, from, s.Frames(), func(f footage.Frame) error {
		if (f.Index-from)%step != 0 {
			return nil
		}
		left := wide * ((f.Index - from) / step)
		tr := seen.Truth(f.Index)
		x0 := int(tr.Pixel.X) - sheetHalf
		for y := range height {
			for x := range 2 * sheetHalf {
				if px := x0 + x; px >= 0 && px < f.Luma.Width {
					v := f.Luma.Pix8[y*f.Luma.Width+px]
					sheet.SetRGBA(left+x, y, color.RGBA{v, v, v, 255})
				}
			}
		}
		tick := func(x0, x1 int, y float64, c color.Color) {
			draw.Draw(sheet, image.Rect(left+x0, int(y)-1, left+x1, int(y)+2), image.NewUniform(c), image.Point{}, draw.Src)
		}
		tick(0, sheetHalf-20, tr.Pixel.Y, color.RGBA{255, 0, 0, 255})
		if q, ok := at[f.Index]; ok {
			tick(sheetHalf+20, 2*sheetHalf, q.Row, color.RGBA{0, 255, 0, 255})
		}
		return nil
	})
	if err != nil {
		return err
	}
	out, err := os.Create(path)
	if err != nil {
		return err
	}
	if err := png.Encode(out, sheet); err != nil {
		out.Close()
		return err
	}
	return out.Close()
}
