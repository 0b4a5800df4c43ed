package desk

import (
	"fmt"
	"math/big"
	"slices"

	"padside/fault"
	"padside/footage"
	"padside/logbook"
	"padside/timebase"
)

// timeBase says how the true time of each frame is known: as the launch file states, else
// by the stamps of a clip or the EXIF times of stills.
func timeBase(l *logbook.Launch, info footage.Info) (*timebase.Base, error) {
	if err := ofItsKind(l, info); err != nil {
		return nil, err
	}
	b, err := statedBase(l, info)
	if err != nil {
		return nil, err
	}
	return b, withinStep(l, info, b)
}

// statedBase is the time base as stated, whether or not a camera could have it.
func statedBase(l *logbook.Launch, info footage.Info) (*timebase.Base, error) {
	o := timebase.Options{Exposure: l.Time.Exposure, Readout: info.Readout(), StampU: info.StampU,
		Shutter: timebase.Shutter{Kind: timebase.Kind(l.Time.Shutter), RowTime: l.Time.RowTime.Value, RowTimeU: l.Time.RowTime.U}}
	if !l.Time.ExposureGiven {
		o.Exposure = info.Exposure
	}
	o.ExposureUnknown = !exposureStated(l, info)
	basis := timebase.Basis(l.Time.Basis)
	if basis == "" {
		if slowed(info) {
			return nil, fault.Requestf(fmt.Sprintf(`if the tag is right, write under [footage.time]: basis = "rate", rate = "%g Hz"; if the stamps are real time: basis = "container"`, info.CaptureRate),
				"%s: the camera's tag in %s says it filmed at %g Hz, but its stamps run otherwise, as those of slowed footage do", l.Path, l.Footage.Given, info.CaptureRate)
		}
		basis = timebase.Container
		if info.Kind == footage.Stills {
			basis = timebase.EXIF
		}
	}
	switch basis {
	case timebase.Rate:
		if len(l.Time.Stretches) > 0 {
			return stretched(l, info, o)
		}
		if l.Time.RateExact == nil || l.Time.RateExact.Sign() <= 0 {
			return nil, fault.Requestf(`write the true capture rate, for example rate = "1600 Hz"`,
				`%s: [footage.time] basis "rate" needs a rate above zero`, l.Path)
		}
		o.StampU = 0
		if l.Time.Rate.Stated {
			o.RateU = l.Time.Rate.U / l.Time.Rate.Value
		}
		return timebase.NewRate(l.Time.RateExact, o)
	case timebase.List:
		if len(l.Time.Times) != info.Frames {
			return nil, fault.Requestf("give one time per frame, in seconds",
				"%s: [footage.time] lists %d times for %d frames", l.Path, len(l.Time.Times), info.Frames)
		}
		o.StampU, o.StampUs = 0, l.Time.TimesU
		return timebase.NewList(l.Time.Times, o)
	}
	if len(info.Stamps) == 0 {
		return nil, fault.Requestf(`state the true rate: [footage.time] basis = "rate", rate = "8 Hz", or basis = "list" with times`,
			"%s: %s carries no time of each frame", l.Path, l.Footage.Given)
	}
	return timebase.NewStamps(basis, info.Stamps, o)
}

// stretched is the time base of footage whose rate changes on the way. What is common to its times
// is taken to be as uncertain as the least certain rate.
func stretched(l *logbook.Launch, info footage.Info, o timebase.Options) (*timebase.Base, error) {
	o.StampU = 0
	var list []timebase.Stretch
	for _, s := range l.Time.Stretches {
		list = append(list, timebase.Stretch{From: s.From, Hz: s.RateExact})
		if s.Rate.Stated {
			o.RateU = max(o.RateU, s.Rate.U/s.Rate.Value)
		}
	}
	return timebase.NewStretches(list, info.Frames, o)
}

// slowed says whether the footage looks like slow motion whose stamps are playback time. Which of the two is right is for the
// person to say.
func slowed(info footage.Info) bool {
	return slices.ContainsFunc(info.Warnings, func(w fault.Warning) bool { return w.Code == "slowed" })
}

// meanRate returns frames per second: the stated rate, or the mean of the stamps.
func meanRate(b *timebase.Base) float64 {
	rate := b.Hz
	if rate == nil {
		step := b.MeanStep()
		if step == nil || step.Sign() == 0 {
			return 0
		}
		rate = new(big.Rat).Inv(step)
	}
	v, _ := rate.Float64()
	return v
}
