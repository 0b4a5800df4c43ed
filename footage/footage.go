package footage

import (
	"context"
	"fmt"
	"image"
	"path/filepath"
	"sync"

	"padside/fault"
	"padside/guard"
)

// source is a clip or a run of stills.
type source interface {
	// read hands over frames from..to-1 in order, each owned by give from then on.
	read(ctx context.Context, from, to int, give func(Frame) error) error
	// pictures does the same in colour, upright.
	pictures(ctx context.Context, from, to int, give func(int, image.Image) error) error
	verify(ctx context.Context) error
	files() []string
}

// Footage is an opened clip or run of stills. Its methods may be called from several
// goroutines at once; each Read decodes by itself.
type Footage struct {
	src           source
	kind          Kind
	width, height int

	mu   sync.Mutex
	info Info

	cache    *cache
	lumas    *browser[*Luma]
	pictures *browser[image.Image]
	stop     context.CancelFunc // ends what the browsers decode
}

// Open opens a clip, a folder of stills, one still, or a glob of stills.
func Open(ctx context.Context, path string, o Options) (*Footage, error) {
	if o.Rotate%90 != 0 && (o.Rotate < -3 || o.Rotate > 3) {
		return nil, fault.Requestf("give 0, 1, 2 or 3 quarter turns clockwise", "a rotation of %d is no quarter turn", o.Rotate)
	}
	abs, err := filepath.Abs(path)
	if err != nil {
		return nil, fault.Failedf(err, "", "find %s", path)
	}
	names, err := stillNames(abs)
	if err != nil {
		return nil, err
	}
	f := &Footage{}
	var info *Info
	if names != nil {
		var s *stills
		if s, info, err = openStills(ctx, names, o); err == nil {
			s.amend = f.amend
			f.src = s
		}
	} else {
		var c *clip
		if c, info, err = openClip(ctx, abs, o); err == nil {
			c.amend = f.amend
			f.src = c
		}
	}
	if err != nil {
		return nil, err
	}
	f.info, f.kind, f.width, f.height = *info, info.Kind, info.Width, info.Height
	f.info.Path = path
	alive, stop := context.WithCancel(context.WithoutCancel(ctx))
	f.stop = stop
	f.browse(alive, o.CacheBytes)
	return f, nil
}

// amend changes what is known of the footage.
func (f *Footage) amend(change func(*Info)) {
	f.mu.Lock()
	defer f.mu.Unlock()
	change(&f.info)
}

// turn is the asked rotation, degrees clockwise, 0 to 270.
func (o Options) turn() int {
	d := o.Rotate
	if d%90 != 0 {
		d *= 90
	}
	return (d%360 + 360) % 360
}

// Info returns what the footage says about itself. Slices are shared: do not change them.
func (f *Footage) Info() Info {
	f.mu.Lock()
	defer f.mu.Unlock()
	return f.info
}

// Size returns the size of the picture after rotation, px.
func (f *Footage) Size() (w, h int) { return f.width, f.height }

// Len returns the number of frames.
func (f *Footage) Len() int { return f.Info().Frames }

// readAhead is how many decoded frames may wait for the visitor.
const readAhead = 4

// Read hands frames from..to-1 to visit, in order, in one pass; to <= 0 means to the end. The
// visitor owns each frame and may Release it. Decoding goes on while the visitor works.
// Read stops at the visitor's first error and returns it as it is. Frames of a damaged clip that cannot be decoded are left
// out, and Info tells of it afterwards; it is an error only if none can.
func (f *Footage) Read(ctx context.Context, from, to int, visit func(Frame) error) error {
	return f.stream(ctx, from, to, f.src.read, visit)
}

// stream lets read decode while the visitor works.
func (f *Footage) stream(ctx context.Context, from, to int, read func(context.Context, int, int, func(Frame) error) error, visit func(Frame) error) error {
	n := f.Len()
	if to <= 0 {
		to = n
	}
	if from < 0 || to > n || from > to {
		return f.noFrames(from, to-1)
	}
	if from == to {
		return nil
	}
	inner, cancel := context.WithCancel(ctx)
	defer cancel()
	frames := make(chan Frame, readAhead)
	ended := guard.Go(func() error {
		defer close(frames)
		return read(inner, from, to, func(fr Frame) error {
			select {
			case frames <- fr:
				return nil
			case <-inner.Done():
				return inner.Err()
			}
		})
	})
	for fr := range frames {
		if e := visit(fr); e != nil {
			cancel()
			for left := range frames {
				left.Release()
			}
			return e
		}
	}
	return <-ended
}

func (f *Footage) noFrames(from, to int) error {
	i := f.Info()
	which := fmt.Sprintf("frame %d", from)
	if to > from {
		which = fmt.Sprintf("frames %d to %d", from, to)
	}
	return fault.Requestf(fmt.Sprintf("frames count from 0 to %d", i.Frames-1), "%s has no %s", i.Path, which)
}

// Close lets go of the footage: of its cache and of decoders that stand where the last frame was asked for. A Read still
// running is ended by its context, not by Close.
func (f *Footage) Close() error {
	f.stop()
	f.lumas.close()
	f.pictures.close()
	f.cache.clear()
	return nil
}
