package trace

import (
	"context"

	"padside/footage"
)

// pictures is footage whose frames are drawn when they are first read, and kept.
type pictures struct {
	w, h  int // px
	draw  func(frame int) *footage.Luma
	drawn []*footage.Luma
}

func (p *pictures) Size() (int, int) { return p.w, p.h }
func (p *pictures) Len() int         { return len(p.drawn) }
func (p *pictures) Read(_ context.Context, from, to int, visit func(footage.Frame) error) error {
	for i := from; i < to; i++ {
		if p.drawn[i] == nil {
			p.drawn[i] = p.draw(i)
		}
		if err := visit(footage.Frame{Index: i, Luma: p.drawn[i]}); err != nil {
			return err
		}
	}
	return nil
}
