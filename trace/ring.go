package trace

import (
	"runtime"

	"padside/footage"
)

// ring keeps the last frames read, as many as fit into its bytes, so that one can look back.
type ring struct {
	frames []footage.Frame
	bytes  int
	limit  int
}

func size(l *footage.Luma) int { return len(l.Pix8) + 2*len(l.Pix16) }

// push adds the next frame.
func (r *ring) push(f footage.Frame) {
	r.frames = append(r.frames, f)
	r.bytes += size(f.Luma)
	r.trim()
}

// forget keeps the newest frame alone, from now on: nobody will look back. What is let go is collected at once, for else the heap
// grows by what the pieces take before it shrinks by what the frames took.
func (r *ring) forget() {
	if r.limit == 0 {
		return
	}
	r.limit = 0
	r.trim()
	runtime.GC()
}

// trim lets go of the oldest frames, as many as do not fit.
func (r *ring) trim() {
	n := 0
	for r.bytes > r.limit && n < len(r.frames)-1 {
		r.bytes -= size(r.frames[n].Luma)
		release(&r.frames[n])
		n++
	}
	if n > 0 {
		m := copy(r.frames, r.frames[n:])
		clear(r.frames[m:])
		r.frames = r.frames[:m]
	}
}

// empty lets go of all frames.
func (r *ring) empty() {
	for i := range r.frames {
		release(&r.frames[i])
	}
	r.frames, r.bytes = nil, 0
}

// release gives a frame's memory back to the footage that made it, where it wants it back.
func release(f *footage.Frame) {
	if r, ok := any(f).(interface{ Release() }); ok {
		r.Release()
	}
	f.Luma = nil
}
