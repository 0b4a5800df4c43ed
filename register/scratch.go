package register

// Scratch is the memory one worker matches with. It must not be shared between goroutines.
type Scratch struct {
	Window *Spline // the window that is matched: own, or one that others look at too
	own    Spline
	Pix    []float32 // for the caller: samples on their way into the window
	F, r   []float32 // the picture at the reference's pixels, and what the fit leaves of it, levels
	sums   []float64
	// The background: its spline, and what to add to a place in the window to get the same place in
	// it. nil: none.
	Back     *Spline
	BX, BY   float32
	composed Matcher // the reference over the background of the frame at hand
}

// NewScratch is the memory of a worker that interpolates by the table b.
func NewScratch(b *Basis) *Scratch { return &Scratch{own: Spline{basis: b}} }

// Basis is the table that the window is interpolated by.
func (s *Scratch) Basis() *Basis { return s.own.basis }

// Use makes sp, which other workers may look at too, the window to match.
func (s *Scratch) Use(sp *Spline) { s.Window = sp }

// Set makes the w by h samples of pix the window to match.
func (s *Scratch) Set(pix []float32, w, h int) {
	s.own.Set(pix, w, h)
	s.Window = &s.own
}
