package shoot

import (
	"context"
	"fmt"
	"math"

	"padside/camera"
	"padside/fault"
	"padside/guard"
)

// Plan is what a shoot would give, mode by mode.
type Plan struct {
	Options  []*Option
	Pictures []Caught // what bursts would catch, in the first mode of each camera
	StandOff *float64 // m; nil: none is given, the local code decides
	Warnings []fault.Warning
}

// Option is one mode of one camera, SI but for millimetres a pixel.
type Option struct {
	Camera       string      `json:"camera"`
	Width        int         `json:"width"` // px, as the sensor lies
	Height       int         `json:"height"`
	Rate         float64     `json:"rate_hz"`
	FieldAlong   *float64    `json:"field_along_m"` // of the flight line; null where the picture looks past the zenith
	FieldAcross  float64     `json:"field_across_m"`
	MMPerPixel   float64     `json:"mm_per_pixel"` // at the nose at rest, along the flight
	FramesInView int         `json:"frames_in_view"`
	Blur         float64     `json:"blur_px"`
	Exposure     float64     `json:"exposure_s"`
	Aperture     float64     `json:"f_number"`
	ISO          float64     `json:"iso"`
	LightNeeded  float64     `json:"ev100_needed"`
	ISONeeded    float64     `json:"iso_needed"`
	Record       *float64    `json:"record_s"` // what the camera's memory or one burst holds; null: no limit that matters
	Depth        [2]*float64 `json:"depth_of_field_m"`
	Tilt         float64     `json:"tilt_rad"`
	Low          float64     `json:"view_low_m"`       // height above the ground at the picture's lower edge
	High         *float64    `json:"view_high_m"`      // at its upper edge; null where it looks past the zenith
	Ways         []float64   `json:"ways_m"`           // how far from rest the vehicle is in the frames in flight, at most 40 of them
	Advice       string      `json:"advice,omitempty"` // about how the camera is held; empty: none
	Questions    []Forecast  `json:"questions"`

	viewTime float64 // s, from first motion until the nose leaves the view
	topSpeed float64 // m/s, up to then
	view     view
	camera   Camera
	caught   []Caught // of a burst, by trigger
	stops    float64  // the light falls short by so much; 0: enough
	tooLight bool
}

// shownWays is how many frames in flight an option lists.
const shownWays = 40

// sharpWithin is the circle of confusion that depth of field is given for, px.
const sharpWithin = 2

// Plan works out every mode of every camera and foresees what its footage would answer. The result depends on the shoot and the seed alone. progress may
// be nil.
func (s *Shoot) Plan(ctx context.Context, seed uint64, progress func(stage string, done, total int)) (*Plan, error) {
	p := &Plan{StandOff: s.Expected.StandOff(), Warnings: s.cautions(), Pictures: []Caught{}}
	for _, c := range s.Cameras {
		for i, m := range c.Modes {
			o, err := s.option(c, m)
			if err != nil {
				return nil, err
			}
			p.Options = append(p.Options, o)
			if c.Burst != nil {
				for _, t := range triggers {
					o.caught = append(o.caught, caught(c, m.Rate, o.viewTime, t, s.counts()))
				}
				if i == 0 {
					p.Pictures = append(p.Pictures, o.caught...)
				}
			}
		}
	}
	sights := make([]*foresight, len(p.Options))
	g, ctx := guard.WithContext(ctx)
	g.SetLimit(2) // package motion works on several cores itself
	done := make(chan struct{}, len(p.Options))
	for i, o := range p.Options {
		g.Go(func() (err error) {
			defer func() { done <- struct{}{} }()
			if o.viewTime > 0 && o.stops <= 0 && s.measures() { // what is too dark is not asked further
				sights[i], err = s.foresee(ctx, o, seed+uint64(i)<<8)
			}
			return err
		})
	}
	if progress != nil {
		for i := range p.Options {
			<-done
			progress("foresee", i+1, len(p.Options))
		}
	}
	if err := g.Wait(); err != nil {
		return nil, err
	}
	for i, o := range p.Options {
		o.Questions = s.forecasts(o, sights[i])
	}
	return p, nil
}

// counts lists how many pictures the questions ask for.
func (s *Shoot) counts() []int {
	var n []int
	for _, q := range s.Questions {
		if q.Answer == Pictures {
			n = append(n, q.Count)
		}
	}
	return n
}

// measures says whether anything but pictures is asked.
func (s *Shoot) measures() bool { return len(s.counts()) < len(s.Questions) }

// lens is what a camera sees through.
func (s *Shoot) lens(c Camera) Lens {
	if c.Lens != nil {
		return *c.Lens
	}
	return s.Lens
}

// option works out what one mode sees.
func (s *Shoot) option(c Camera, m Mode) (*Option, error) {
	lens := s.lens(c)
	v := newView(m, c.PixelPitch, lens, s.Place)
	rest := s.Expected.Front()
	low, high := v.edges()
	o := &Option{Camera: c.Name, Width: m.Width, Height: m.Height, Rate: m.Rate, FieldAcross: v.acrossWidth(), MMPerPixel: 1e3 * v.metresPerPixel(rest),
		Tilt: v.tilt, view: v, camera: c}
	o.Low, o.Advice = low, c.advice(s.Place)
	if !math.IsInf(high, 1) {
		along := high - low
		o.FieldAlong, o.High = &along, &high
	}
	if low < rest && rest < high {
		way := math.Min(high-rest, 1e6)
		if s.Expected.falls() {
			way = rest - math.Max(low, 0)
		}
		until, ok := first(s.Expected.Motion, way, longest, heightOf)
		if !ok {
			until = longest
		}
		o.viewTime = until
		o.FramesInView = int(until * m.Rate)
	}
	o.Ways = []float64{}
	for i, thin := 1, 1+o.FramesInView/shownWays; i <= o.FramesInView; i += thin {
		o.Ways = append(o.Ways, s.Expected.Motion.At(float64(i)/m.Rate).Height)
	}
	o.topSpeed = TopSpeed(s.Expected.Motion, math.Max(o.viewTime, 1e-3))
	e := expose(c, lens, s.Light, m.Rate, o.topSpeed/v.metresPerPixel(rest))
	o.Exposure, o.Aperture, o.ISO, o.Blur, o.LightNeeded, o.ISONeeded, o.stops, o.tooLight = e.time, e.aperture, e.iso, e.blur, e.lightNeeded, e.isoNeeded, e.short, e.bright
	frames := c.Memory
	if c.Burst != nil {
		frames = c.Burst.Frames
	}
	if frames > 0 {
		record := float64(frames) / m.Rate
		o.Record = &record
		o.FramesInView = min(o.FramesInView, frames)
	}
	if focus := v.slant(); focus > 2*lens.FocalLength {
		near, far := camera.DepthOfField(lens.FocalLength, o.Aperture, sharpWithin*c.PixelPitch, focus)
		o.Depth[0] = &near
		if !math.IsInf(far, 1) {
			o.Depth[1] = &far
		}
	} else {
		return nil, fault.Requestf("check place.range and lens.focal_length", "the flight line is %.3g m away, which a lens of %.3g mm cannot focus on", focus, 1e3*lens.FocalLength)
	}
	return o, nil
}

// Name says which mode an option is.
func (o *Option) Name() string {
	return fmt.Sprintf("%s, %dx%d at %.4g Hz", o.Camera, o.Width, o.Height, o.Rate)
}
