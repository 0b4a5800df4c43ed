package desk

import (
	"fmt"
	"math"
	"strings"

	"github.com/pelletier/go-toml/v2"

	"padside/camera"
	"padside/fault"
	"padside/footage"
	"padside/logbook"
	"padside/timebase"
)

// SetupView is the setup of a launch as the setup page shows it: sections as the launch file (or the setup it names) has them, and
// what the scale says. Places are px of the upright frame as filmed.
type SetupView struct {
	Revision    string          `json:"revision"`
	FrameWidth  int             `json:"frame_width"`
	FrameHeight int             `json:"frame_height"`
	Frames      int             `json:"frames"`
	Setup       string          `json:"setup"` // the setup the launch names, or empty
	SharedBy    []string        `json:"shared_by"`
	Own         []string        `json:"own"` // "time", "scale", "camera": what the launch has itself and does not take from its setup
	Scale       map[string]any  `json:"scale"`
	Time        map[string]any  `json:"time"`
	Camera      map[string]any  `json:"camera"`
	Residuals   [][2]float64    `json:"residuals"` // px, one per mark or point: where it was placed less where the scale has it
	Says        []string        `json:"says"`
	Warnings    []fault.Warning `json:"warnings"`
	Problem     *Problem        `json:"problem"` // why the scale cannot be used yet
	TimeSays    []string        `json:"time_says"`
	TimeProblem *Problem        `json:"time_problem"` // why the time base cannot be used
}

// judge words what the scale makes of pixels, and how well; grows is how the vehicle was seen to grow along the line, if it was.
func (v *SetupView) judge(l *logbook.Launch, info footage.Info, line camera.FlightLine, reach float64, grows camera.Growth) {
	if l.Scale.Kind == "" {
		v.Says = append(v.Says, "Nothing yet: mark two heights or more of a rod, the ends of something whose length is known, or points of a plane.")
		return
	}
	scale, warnings, err := camera.Calibrate(scaleSpec(l, info), line, reach, sizes(l, grows, reach))
	v.Warnings = append(v.Warnings, warnings...)
	if err != nil {
		v.Problem = problemOf(err)
		return
	}
	v.Residuals = residualVectors(l, scale.Residuals())
	low, high := scale.MetresPerPixel(0), scale.MetresPerPixel(reach)
	v.Says = append(v.Says, fmt.Sprintf("1 px is %.4g mm at rest and %.4g mm at the top of the view, %.3g m above.", 1e3*low, 1e3*high, scale.Height(reach)))
	if top := scale.Height(reach); top > 0 {
		v.Says = append(v.Says, fmt.Sprintf("A height of %.4g m there is good to ±%.2g %% (95 %%).", top, 100*scale.HalfWidth()))
	}
}

// judgeTime words how the times of the frames are known, and what is doubtful about them.
func (v *SetupView) judgeTime(l *logbook.Launch, info footage.Info) {
	b, err := timeBase(l, info)
	if err != nil {
		v.TimeProblem = problemOf(err)
		v.TimeProblem.Message = strings.TrimPrefix(v.TimeProblem.Message, l.Path+": ") // the page is of this launch
		return
	}
	by := map[timebase.Basis]string{timebase.Rate: "as stated", timebase.Container: "by the file's stamps", timebase.EXIF: "by the stills' own times", timebase.List: "by the list"}[b.Basis]
	v.TimeSays = append(v.TimeSays, fmt.Sprintf("%.5g frames a second, %s", meanRate(b), by))
	for _, w := range footageDoubts(info.Warnings, b.Basis) {
		v.TimeSays = append(v.TimeSays, w.Message)
	}
}

// residualVectors turns residuals along and across the reference into px of the picture, in the order of the marks. A rod's come
// sorted by height, along its axis towards greater heights.
func residualVectors(l *logbook.Launch, list []camera.MarkResidual) [][2]float64 {
	out := make([][2]float64, len(list))
	ux, uy := 1.0, 0.0
	if marks := l.Scale.Marks; l.Scale.Kind != camera.KindPlane && len(list) > 1 && len(marks) == len(list) {
		a, b := marks[list[0].Index], marks[list[len(list)-1].Index]
		if d := math.Hypot(b.X-a.X, b.Y-a.Y); d > 0 {
			ux, uy = (b.X-a.X)/d, (b.Y-a.Y)/d
		}
	}
	for _, r := range list {
		out[r.Index] = [2]float64{r.Along*ux - r.Across*uy, r.Along*uy + r.Across*ux}
	}
	return out
}

// lineGuess is the flight line as far as a setup tells it before anything was measured: up the picture from the lowest mark.
func lineGuess(l *logbook.Launch, info footage.Info) (line camera.FlightLine, reach float64) {
	rest := camera.Pixel{X: float64(info.Width) / 2, Y: float64(info.Height)}
	lowest := -1.0
	take := func(x, y float64) {
		if y > lowest {
			lowest, rest = y, camera.Pixel{X: x, Y: y}
		}
	}
	for _, m := range l.Scale.Marks {
		take(m.X, m.Y)
	}
	for _, e := range l.Scale.Ends {
		take(e[0], e[1])
	}
	for _, p := range l.Scale.Points {
		take(p.X, p.Y)
	}
	return camera.FlightLine{Rest: rest, Uy: -1}, max(1, rest.Y)
}

// sections reads the sections of a setup from the text of a launch file, as they are written there; those it lacks come from
// the setup's own file.
func (v *SetupView) sections(launch, setup []byte) error {
	own, err := treeOf(launch)
	if err != nil {
		return err
	}
	shared, err := treeOf(setup)
	if err != nil {
		return err
	}
	pick := func(path ...string) map[string]any {
		for _, t := range []map[string]any{own, shared} {
			for i, key := range path {
				next, _ := t[key].(map[string]any)
				if t = next; t == nil {
					break
				}
				if i == len(path)-1 {
					return t
				}
			}
		}
		return map[string]any{}
	}
	v.Scale, v.Time, v.Camera = pick("scale"), pick("footage", "time"), pick("camera")
	footage, _ := own["footage"].(map[string]any)
	v.Own = []string{}
	for i, in := range []map[string]any{footage, own, own} {
		if _, has := in[[...]string{"time", "scale", "camera"}[i]]; has {
			v.Own = append(v.Own, setupSections[i].do)
		}
	}
	return nil
}

// treeOf reads TOML; no text is an empty tree.
func treeOf(text []byte) (map[string]any, error) {
	t := map[string]any{}
	if err := toml.Unmarshal(text, &t); err != nil {
		return nil, fault.Failedf(err, "", "read the launch file: %v", err)
	}
	return t, nil
}
