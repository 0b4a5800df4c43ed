package takes

import (
	"context"

	"padside/footage"
	"padside/scene"
)

// Drawn is a scene as footage, without a file between.
type Drawn struct {
	scene  *scene.Scene
	frames []*footage.Luma
}

// Draw draws all frames of a scene, two at a time.
func Draw(s *scene.Scene) *Drawn {
	d := &Drawn{s, make([]*footage.Luma, s.Frames())}
	d.frames[0] = s.Frame(0)
	half := make(chan struct{})
	go func() {
		for i := 1; i < len(d.frames); i += 2 {
			d.frames[i] = s.Frame(i)
		}
		close(half)
	}()
	for i := 2; i < len(d.frames); i += 2 {
		d.frames[i] = s.Frame(i)
	}
	<-half
	return d
}

// Size returns the picture's width and height, px.
func (d *Drawn) Size() (int, int) { return d.scene.Camera.Width, d.scene.Camera.Height }

// Len returns the number of frames.
func (d *Drawn) Len() int { return d.scene.Frames() }

// Read hands frames from to to-1 to visit, in order.
func (d *Drawn) Read(ctx context.Context, from, to int, visit func(footage.Frame) error) error {
	for i := from; i < to; i++ {
		if err := ctx.Err(); err != nil {
			return err
		}
		if err := visit(footage.Frame{Index: i, Luma: d.frames[i]}); err != nil {
			return err
		}
	}
	return nil
}
