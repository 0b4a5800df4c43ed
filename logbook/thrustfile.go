package logbook

import (
	"bytes"
	"encoding/csv"
	"errors"
	"io"
	"path/filepath"
	"strconv"
	"strings"

	"padside/disk"
	"padside/fault"
	"padside/flight"
	"padside/units"
)

// mostThrustPoints bounds a thrust curve: a second at 100 kHz.
const mostThrustPoints = 100000

// longestThrust is how large its file may be, bytes: 160 to a line.
const longestThrust = 16 << 20

// thrust reads a thrust curve, which begins at time 0, the ignition.
func (r *reader) thrust(given string, line int, f *FlightFile) {
	curve, lines := r.forces(given, line, f)
	for i, p := range curve {
		switch {
		case i == 0 && p.Time != 0:
			r.fail(line, "let the curve begin with time 0, the ignition; a thrust stand's record is given as firing = \"stand.csv\"", "%s:%d: the thrust curve begins at %g s", given, lines[i], p.Time)
		case i > 0 && p.Time <= curve[i-1].Time:
			r.fail(line, "sort the lines by time, each time once", "%s:%d: time %g s does not follow %g s", given, lines[i], p.Time, curve[i-1].Time)
		case p.Force < 0:
			r.fail(line, "a thrust stand's record, with the offset of its load cell, is given as firing = \"stand.csv\"", "%s:%d: a force of %g N pulls the rocket back", given, lines[i], p.Force)
		}
	}
	if len(curve) < 2 {
		r.fail(line, "give at least two lines of time and force", "%s holds no thrust curve", given)
	}
	f.Thrust = curve
}

// firing reads a thrust stand's record: ignition is found and the offset taken out.
func (r *reader) firing(given string, line int, f *FlightFile) {
	record, _ := r.forces(given, line, f)
	if r.err != nil {
		return
	}
	reduced, err := flight.ReduceFiring(record)
	if err != nil {
		hint := ""
		var fe *fault.Error
		if errors.As(err, &fe) {
			hint = fe.Hint
		}
		r.fail(line, hint, "%s: %s", given, oneLine(err.Error()))
		return
	}
	f.Firing, f.Thrust = reduced, reduced.Curve
}

// forces reads lines of time (s) and force (N), a heading before them, lines that begin with # left out, and says on which line of the
// file each stood.
func (r *reader) forces(given string, line int, f *FlightFile) (points []flight.ThrustPoint, lines []int) {
	if r.err != nil {
		return nil, nil
	}
	path := given
	if !filepath.IsAbs(path) {
		path = filepath.Join(filepath.Dir(f.Path), filepath.FromSlash(given))
	}
	data, err := disk.Read(path, longestThrust)
	if err != nil {
		why := ""
		if errors.Is(err, disk.ErrNotRegular) || errors.Is(err, disk.ErrTooLarge) || errors.Is(err, disk.ErrFolder) {
			why = ": " + oneLine(err.Error())
		}
		r.fail(line, "check the path; it is taken from the folder of the flight file", "cannot read the thrust curve %s%s", given, why)
		return nil, nil
	}
	c := csv.NewReader(bytes.NewReader(data))
	c.Comment, c.TrimLeadingSpace, c.FieldsPerRecord = '#', true, -1
	for n := 1; ; n++ {
		row, err := c.Read()
		if err == io.EOF {
			return points, lines
		}
		var p [2]float64
		bad := err != nil || len(row) < 2 || len(points) > mostThrustPoints
		for i := 0; i < 2 && !bad; i++ {
			p[i], err = strconv.ParseFloat(strings.TrimSpace(row[i]), 64)
			bad = err != nil || !bounds[[...]units.Dimension{units.Time, units.Force}[i]].possible(p[i])
		}
		if bad && n == 1 && len(row) > 1 {
			continue // the heading
		}
		at := n
		if len(row) > 0 {
			at, _ = c.FieldPos(0)
		}
		if bad {
			r.fail(line, "write lines of time in seconds and force in newtons: 0.05, 12.3", "%s:%d: is no line of time and force", given, at)
			return nil, nil
		}
		points, lines = append(points, flight.ThrustPoint{Time: p[0], Force: p[1]}), append(lines, at)
	}
}
