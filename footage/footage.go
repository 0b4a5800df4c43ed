package footage

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"image"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"padside/fault"
)

// source is a clip or a run of stills.
type source interface {
	// read hands over frames from..to-1 in order, each owned by give from then on.
	read(ctx context.Context, from, to int, give func(Frame) error) error
	picture(ctx context.Context, i int) (image.Image, error)
	files() []string
}

// Footage is an opened clip or run of stills. Its methods may be called from several
// goroutines at once; each Read decodes by itself.
type Footage struct {
	info Info
	src  source

	turn  chan struct{} // its one token lets a goroutine use cache
	cache *cache
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
	var src source
	var info *Info
	if names != nil {
		src, info, err = openStills(ctx, names, o)
	} else {
		src, info, err = openClip(ctx, abs, o)
	}
	if err != nil {
		return nil, err
	}
	info.Path = path
	return &Footage{info: *info, src: src, turn: make(chan struct{}, 1), cache: newCache(o.CacheBytes)}, nil
}

// turn is the asked rotation, degrees clockwise, 0 to 270.
func (o Options) turn() int {
	d := o.Rotate
	if d%90 != 0 {
		d *= 90
	}
	return (d%360 + 360) % 360
}

// stillNames lists the stills a path means; nil means that the path is a clip.
func stillNames(path string) ([]string, error) {
	st, err := os.Stat(path)
	var names []string
	switch {
	case err == nil && !st.IsDir():
		if isStill(path) {
			return []string{path}, nil
		}
		return nil, nil
	case err == nil:
		entries, err := os.ReadDir(path)
		if err != nil {
			return nil, fault.Requestf("check that the folder may be read", "cannot read the folder %s", path)
		}
		for _, e := range entries {
			if !e.IsDir() {
				names = append(names, filepath.Join(path, e.Name()))
			}
		}
	case strings.ContainsAny(path, "*?["):
		if names, err = filepath.Glob(path); err != nil {
			return nil, fault.Requestf("close every [ with a ]", "the pattern %s cannot be read", path)
		}
	default:
		return nil, fault.Requestf("check the path; it is taken from the folder of the launch file, or else from where you are", "there is no readable file %s", path)
	}
	names = slices.DeleteFunc(names, func(n string) bool {
		return !isStill(n) || strings.HasPrefix(filepath.Base(n), ".")
	})
	if len(names) == 0 {
		return nil, fault.Requestf("stills are JPEG, PNG or TIFF files; name a clip by its own path", "there are no stills at %s", path)
	}
	slices.SortFunc(names, naturalOrder)
	return names, nil
}

// Info returns what the footage says about itself. Slices are shared: do not change them.
func (f *Footage) Info() Info { return f.info }

// Size returns the size of the picture after rotation, px.
func (f *Footage) Size() (w, h int) { return f.info.Width, f.info.Height }

// Len returns the number of frames.
func (f *Footage) Len() int { return f.info.Frames }

// readAhead is how many decoded frames may wait for the visitor.
const readAhead = 4

// Read hands frames from..to-1 to visit, in order, in one pass; to <= 0 means to the end. The
// visitor owns each frame and may Release it. Decoding goes on while the visitor works.
// Read stops at the visitor's first error and returns it as it is.
func (f *Footage) Read(ctx context.Context, from, to int, visit func(Frame) error) error {
	return f.stream(ctx, from, to, f.src.read, visit)
}

// stream lets read decode while the visitor works.
func (f *Footage) stream(ctx context.Context, from, to int, read func(context.Context, int, int, func(Frame) error) error, visit func(Frame) error) error {
	if to <= 0 {
		to = f.Len()
	}
	if from < 0 || to > f.Len() || from > to {
		return fault.Requestf(fmt.Sprintf("frames count from 0 to %d", f.Len()-1), "%s has no frames %d to %d", f.info.Path, from, to-1)
	}
	if from == to {
		return nil
	}
	inner, cancel := context.WithCancel(ctx)
	defer cancel()
	frames := make(chan Frame, readAhead)
	var err error // of the decoder; read after frames is closed
	go func() {
		defer close(frames)
		err = read(inner, from, to, func(fr Frame) error {
			select {
			case frames <- fr:
				return nil
			case <-inner.Done():
				return inner.Err()
			}
		})
	}()
	for fr := range frames {
		if e := visit(fr); e != nil {
			cancel()
			for left := range frames {
				left.Release()
			}
			return e
		}
	}
	return err
}

// Picture decodes frame i in colour, after rotation.
func (f *Footage) Picture(ctx context.Context, i int) (image.Image, error) {
	if i < 0 || i >= f.Len() {
		return nil, fault.Requestf(fmt.Sprintf("frames count from 0 to %d", f.Len()-1), "%s has no frame %d", f.info.Path, i)
	}
	return f.src.picture(ctx, i)
}

// Digest returns the SHA-256 (FIPS 180-4) of the file in hex; for stills, of the list of
// their digests and names, one "digest  name" line each, in order.
func (f *Footage) Digest(ctx context.Context) (string, error) {
	if f.info.Kind == Clip {
		return digest(ctx, f.src.files()[0])
	}
	all := sha256.New()
	for _, n := range f.src.files() {
		one, err := digest(ctx, n)
		if err != nil {
			return "", err
		}
		fmt.Fprintf(all, "%s  %s\n", one, filepath.Base(n))
	}
	return hex.EncodeToString(all.Sum(nil)), nil
}

func digest(ctx context.Context, name string) (string, error) {
	r, err := os.Open(name)
	if err != nil {
		return "", fault.Requestf("check that the file is still there and may be read", "cannot open %s", name)
	}
	defer r.Close()
	h := sha256.New()
	for {
		if ctx.Err() != nil {
			return "", ctx.Err()
		}
		_, err := io.CopyN(h, r, 8<<20)
		if err == io.EOF {
			return hex.EncodeToString(h.Sum(nil)), nil
		}
		if err != nil {
			return "", fault.Failedf(err, "", "read %s", name)
		}
	}
}

// Close lets go of the footage. A Read still running is ended by its context, not by Close.
func (f *Footage) Close() error { return nil }
