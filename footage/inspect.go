package footage

import (
	"context"
	"math/big"

	"padside/fault"
	"padside/guard"
)

// Report is what padside says of footage, as JSON.
type Report struct {
	Frames   int             `json:"frames"`
	Width    int             `json:"width"`  // px, after rotation
	Height   int             `json:"height"` // px, after rotation
	Codec    string          `json:"codec"`
	Rotation int             `json:"rotation"` // degrees clockwise
	Stamps   *Steps          `json:"stamps"`   // null where there are no times
	Complete bool            `json:"complete"`
	SHA256   string          `json:"sha256"`
	Warnings []fault.Warning `json:"warnings"`
	Stills   []StillTime     `json:"stills,omitempty"`

	CaptureRate float64     `json:"capture_rate_hz,omitempty"` // as the camera's tag says it; never applied
	Camera      *CameraTags `json:"camera,omitempty"`          // of the first still
}

// CameraTags is what a still says of how it was taken; left out where it does not.
type CameraTags struct {
	Exposure      float64 `json:"exposure_s,omitempty"`
	FNumber       float64 `json:"f_number,omitempty"`
	ISO           int     `json:"iso,omitempty"`
	FocalLength   float64 `json:"focal_length_m,omitempty"`
	FocalLength35 float64 `json:"focal_length_35mm_m,omitempty"` // of the lens that shows as much on 36 x 24 mm
}

// Steps sums up the stamps, s.
type Steps struct {
	First    float64 `json:"first_s"`
	Last     float64 `json:"last_s"`
	Smallest float64 `json:"smallest_step_s"`
	Largest  float64 `json:"largest_step_s"`
	Constant bool    `json:"constant"` // steps differ by no more than the stamps' rounding
}

// StillTime is the time of one still, s, counted from the first; null where it has none.
type StillTime struct {
	Name string   `json:"name"`
	Time *float64 `json:"time_s"`
}

// steps sums up the stamps; nil where there are none.
func (i *Info) steps() *Steps {
	n := len(i.Stamps)
	if n == 0 {
		return nil
	}
	s := &Steps{Constant: true}
	s.First, _ = i.Stamps[0].Float64()
	s.Last, _ = i.Stamps[n-1].Float64()
	var least, most *big.Rat
	for k := 1; k < n; k++ {
		d := new(big.Rat).Sub(i.Stamps[k], i.Stamps[k-1])
		if least == nil || d.Cmp(least) < 0 {
			least = d
		}
		if most == nil || d.Cmp(most) > 0 {
			most = d
		}
	}
	if least == nil {
		return s
	}
	s.Smallest, _ = least.Float64()
	s.Largest, _ = most.Float64()
	spread := new(big.Rat).Sub(most, least)
	s.Constant = spread.Sign() == 0 || i.tick != nil && spread.Cmp(i.tick) <= 0
	return s
}

// Inspect opens footage, decodes all of it to see what is damaged, and reports on it. The digest is computed meanwhile.
func Inspect(ctx context.Context, path string, o Options) (Report, error) {
	f, err := Open(ctx, path, o)
	if err != nil {
		return Report{}, err
	}
	defer f.Close()
	var sum Identity
	g, inner := guard.WithContext(ctx)
	g.Go(func() (err error) {
		sum, err = f.Digest(inner)
		return err
	})
	g.Go(func() error { return f.src.verify(inner) })
	if err := g.Wait(); err != nil {
		return Report{}, err
	}
	i := f.Info()
	r := Report{Frames: i.Frames, Width: i.Width, Height: i.Height, Codec: i.Codec, Rotation: i.Rotation,
		Stamps: i.steps(), Complete: i.Complete, SHA256: sum.SHA256, Warnings: i.Warnings}
	r.CaptureRate = i.CaptureRate
	if c := (CameraTags{i.Exposure, i.FNumber, i.ISO, i.FocalLength, i.FocalLength35}); c != (CameraTags{}) {
		r.Camera = &c
	}
	if r.Warnings == nil {
		r.Warnings = []fault.Warning{}
	}
	for k, n := range i.Names {
		t := StillTime{Name: n}
		if i.Stamps != nil {
			v, _ := new(big.Rat).Sub(i.Stamps[k], i.Stamps[0]).Float64()
			t.Time = &v
		}
		r.Stills = append(r.Stills, t)
	}
	return r, nil
}
