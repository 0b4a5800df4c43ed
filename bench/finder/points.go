package main

import (
	"encoding/csv"
	"fmt"
	"os"

	"padside/scene"
	"padside/trace"
)

// writePoints writes one line per point: the frame, its time (s), the true height (m), the true way from rest along the flight line (px), the
// trace's error along it and across it (px), what the trace says of itself, the shake along
// the line, true and as taken out, and how long a short piece of the vehicle is seen along the line, relative to rest.
func writePoints(path string, t *scene.Take, p *trace.Path) error {
	f, err := os.Create(path)
	if err != nil {
		return err
	}
	defer f.Close()
	w := csv.NewWriter(f)
	w.Write([]string{"frame", "t", "height", "way", "error", "across", "u", "size", "usize", "quality", "copy", "cos", "sin", "source", "row", "shake", "steadied", "stretch"})
	s := t.Scene
	seen := followed(s, p)
	long := func(frame int) float64 {
		a, b := seen.Beside(-nearBy).Truth(frame).Steady, seen.Beside(nearBy).Truth(frame).Steady
		return (b.X-a.X)*p.Line.Ux + (b.Y-a.Y)*p.Line.Uy
	}
	for _, q := range p.Points {
		tr := seen.Truth(q.Frame)
		dx, dy := q.X-tr.Steady.X, q.Y-tr.Steady.Y
		way := (tr.Steady.X-p.Line.Rest.X)*p.Line.Ux + (tr.Steady.Y-p.Line.Rest.Y)*p.Line.Uy
		w.Write([]string{fmt.Sprint(q.Frame), fmt.Sprintf("%.6f", s.Stamps[q.Frame]), fmt.Sprintf("%.6f", tr.Height), fmt.Sprintf("%.4f", way),
			fmt.Sprintf("%.4f", dx*p.Line.Ux+dy*p.Line.Uy), fmt.Sprintf("%.4f", dx*p.Line.Uy-dy*p.Line.Ux), fmt.Sprintf("%.4f", q.Total()),
			fmt.Sprintf("%.5f", q.Size), fmt.Sprintf("%.5f", q.USize), fmt.Sprintf("%.4f", q.Quality), fmt.Sprint(q.Copy),
			fmt.Sprintf("%.3f", q.Phase[0]), fmt.Sprintf("%.3f", q.Phase[1]), q.Source, fmt.Sprintf("%.2f", q.Row),
			fmt.Sprintf("%.4f", (tr.Pixel.X-tr.Steady.X)*p.Line.Ux+(tr.Pixel.Y-tr.Steady.Y)*p.Line.Uy),
			fmt.Sprintf("%.4f", (q.Col-q.X)*p.Line.Ux+(q.Row-q.Y)*p.Line.Uy), fmt.Sprintf("%.5f", long(q.Frame)/long(p.Points[0].Frame))})
	}
	w.Flush()
	if err := w.Error(); err != nil {
		return err
	}
	return f.Close()
}

// nearBy is half the length of that piece, m.
const nearBy = 0.02
