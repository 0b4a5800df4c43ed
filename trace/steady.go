package trace

import "padside/footage"

// steady measures how the camera moved.
type steady struct{}

func newSteady(b *basis, l *footage.Luma, boxes []Box, avoid []area) *steady { return &steady{} }

func (s *steady) step(frame int, l *footage.Luma)   {}
func (s *steady) forward()                          {}
func (s *steady) coarse(frame int) (dx, dy float64) { return 0, 0 }

// shake is the camera's movement in one frame: a still thing at (x, y) in the picture at rest is seen at (x+DX, y+DY).
type shake struct{ dx, dy, ux, uy float64 }

func (s *steady) at(frame int, x, y float64) shake { return shake{} }
