package desk

import (
	"bytes"
	"encoding/json"
	"fmt"
	"image"
	"image/png"
	"math"

	"padside/camera"
	"padside/footage"
	"padside/trace"
)

// Recorder is what the chart of a launch is drawn from, beside the sheet: where each frame stands in time and how the
// streak lies in height. It is kept as recorder.json.
type Recorder struct {
	Format  string `json:"format"` // "padside-recorder"
	Version int    `json:"version"`
	Of      string `json:"of"` // SHA-256 of the launch file the answers come from and, where it names a setup that is there, of a zero byte and the setup's file
	// The footage that was measured; null in results of versions that kept its digest alone.
	Footage *footage.Identity `json:"footage"`
	Files   map[string]string `json:"files,omitempty"` // SHA-256 of the other files of the result; left out by earlier versions
	Times   []float64         `json:"times"`           // s, of every frame of the footage, exposure centred, at the row of the vehicle at rest
	From    int               `json:"from"`
	To      int               `json:"to"` // last frame used
	clock
	Lanes []RecorderLane `json:"lanes"`
}

// RecorderLane is one vehicle's.
type RecorderLane struct {
	Lane     int         `json:"lane"`
	Line     LinePlace   `json:"line"`
	RestU    float64     `json:"rest_u,omitempty"` // px, standard uncertainty of what all points at rest err by together
	Dropped  []Dropped   `json:"dropped"`
	LeftView bool        `json:"left_view"`
	Growth   *GrowthSeen `json:"growth"` // null where the sizes say nothing
	Streak   *StreakBand `json:"streak"` // null where nothing was followed
}

// GrowthSeen is how the vehicle's apparent size changes along the flight line: relative to rest, per px.
type GrowthSeen struct {
	Rate float64 `json:"rate"`
	U    float64 `json:"u"`
	// Ruler: of the length of what is painted on its barrel.
	Ruler bool `json:"ruler,omitempty"`
	// Wide is the width of the barrel at rest, px.
	Wide float64 `json:"wide,omitempty"`
	// How a shutter that reads row by row changes the rate, and what the lengths tell of its delay for each px up
	// the flight line: see camera.Growth.
	RatePerSkew float64 `json:"rate_per_skew,omitempty"`
	RateBend    float64 `json:"rate_bend,omitempty"`
	Skew        float64 `json:"skew,omitempty"`
	SkewU       float64 `json:"skew_u,omitempty"`
}

// LinePlace is the flight line in the picture: px, from the traced point at rest, a unit vector away from the pad.
type LinePlace struct {
	X0 float64 `json:"x0"`
	Y0 float64 `json:"y0"`
	Ux float64 `json:"ux"`
	Uy float64 `json:"uy"`
}

// Dropped is a frame in which the vehicle was not found.
type Dropped struct {
	Frame  int    `json:"frame"`
	Reason string `json:"reason"`
}

// StreakBand describes the picture of a streak: one column per frame, rows even in height, the top row at H1.
type StreakBand struct {
	Frames []int     `json:"frames"`
	Times  []float64 `json:"times"` // s
	H0     float64   `json:"h0"`    // m, lower edge
	H1     float64   `json:"h1"`    // m, upper edge
	Rows   int       `json:"rows"`
}

// bandRows is the height of a streak's picture, px.
const bandRows = 640

// recorder gathers the chart's data. of is the digest of the launch file.
func (m *Measurement) recorder(of string) *Recorder {
	r := &Recorder{Format: "padside-recorder", Version: 1, Of: of, Footage: &m.id, From: m.Launch.Footage.From, To: m.Sheet.Footage.Frames - 1,
		clock: m.clock}
	if m.Launch.Footage.To >= 0 {
		r.To = min(r.To, m.Launch.Footage.To)
	}
	var rest camera.Pixel
	if len(m.Lanes) > 0 {
		rest = m.Lanes[0].Path.Line.Rest
	}
	for i := range m.Sheet.Footage.Frames {
		r.Times = append(r.Times, m.base.TimeAt(i, rest.X, rest.Y))
	}
	for i := range m.Lanes {
		p := &m.Lanes[i].Path
		lane := RecorderLane{Lane: p.Lane, RestU: p.RestU, LeftView: p.LeftView, Dropped: []Dropped{},
			Line: LinePlace{X0: p.Line.Rest.X, Y0: p.Line.Rest.Y, Ux: p.Line.Ux, Uy: p.Line.Uy}}
		if g := growth(*p); g.Known {
			lane.Growth = &GrowthSeen{g.Rate, g.U, g.Ruler, g.Wide, g.RatePerSkew, g.RateBend, g.Skew, g.SkewU}
		}
		for _, d := range p.Dropped {
			lane.Dropped = append(lane.Dropped, Dropped{d.Frame, d.Reason})
		}
		if band := m.Lanes[i].band; band != nil {
			lane.Streak = m.Lanes[i].bandPlace()
			for _, f := range band.Frames {
				lane.Streak.Times = append(lane.Streak.Times, m.base.TimeAt(f, p.Line.Rest.X, p.Line.Rest.Y))
			}
		}
		r.Lanes = append(r.Lanes, lane)
	}
	return r
}

// bandPlace says how the streak lies in height.
func (l *Lane) bandPlace() *StreakBand {
	s := l.band
	return &StreakBand{Frames: s.Frames, Rows: bandRows,
		H0: l.Scale.Height(s.S0), H1: l.Scale.Height(s.S0 + s.Step*float64(s.Rows-1))}
}

// bandPicture draws the streak with rows even in height, as a grey PNG.
func (l *Lane) bandPicture() ([]byte, error) {
	s := l.band
	b := l.bandPlace()
	from := rowsByHeight(s, l.Scale.Height, b)
	img := image.NewGray(image.Rect(0, 0, len(s.Frames), b.Rows))
	for y, row := range from {
		for x := range s.Frames {
			img.Pix[y*img.Stride+x] = s.Pix[x*s.Rows+row]
		}
	}
	var out bytes.Buffer
	if err := png.Encode(&out, img); err != nil {
		return nil, fmt.Errorf("encode streak: %w", err)
	}
	return out.Bytes(), nil
}

// rowsByHeight returns for each row of the picture, top first, the row of the streak nearest in height. Height
// rises along the streak, so that one walk through it does.
func rowsByHeight(s *trace.Streak, height func(float64) float64, b *StreakBand) []int {
	out := make([]int, b.Rows)
	row := 0
	for y := b.Rows - 1; y >= 0; y-- {
		want := b.H0 + (b.H1-b.H0)*(float64(b.Rows-1-y)+0.5)/float64(b.Rows)
		for row < s.Rows-1 && math.Abs(height(s.S0+s.Step*float64(row+1))-want) <= math.Abs(height(s.S0+s.Step*float64(row))-want) {
			row++
		}
		out[y] = row
	}
	return out
}

// JSON returns the recorder's data with a final line break.
func (r *Recorder) JSON() ([]byte, error) {
	b, err := json.Marshal(r)
	if err != nil {
		return nil, err
	}
	return append(b, '\n'), nil
}
