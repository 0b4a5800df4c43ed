package explain

import (
	"errors"
	"fmt"
	"math"
	"strings"
)

var errImpossible = errors.New("explain: no draw of the fit is possible")

// beyond names the unknowns that the best fit has outside what is possible; empty where there is none.
func (p *problem) beyond(s *solution) string {
	var beyond []string
	for j, v := range p.values(s.x) {
		if u := p.in.Unknowns[j]; v < u.Least || v > u.Most {
			beyond = append(beyond, fmt.Sprintf("%s of %s (%s to %s is possible)", words(u.Key), p.in.say(u.Key, v), p.in.say(u.Key, u.Least), p.in.say(u.Key, u.Most)))
		}
	}
	n := len(beyond)
	if n < 2 {
		return strings.Join(beyond, "")
	}
	return strings.Join(beyond[:n-1], ", ") + " and " + beyond[n-1]
}

// impossible completes the result of a fit that no possible flight comes near: the flight that does, what it leaves over, and why it cannot be.
func (r *Result) impossible(s *solution) error {
	p := r.problem
	r.Impossible = p.beyond(s)
	if r.Impossible == "" { // the fit itself is possible, and nothing that its errors allow
		r.Impossible = "values at the edge of what flies"
	}
	r.Test.Fits = false
	r.Values = p.values(s.x)
	r.Fitted = make([]Fitted, len(r.Unknowns))
	for j := range r.Fitted {
		r.Fitted[j].Value = r.Values[j]
	}
	if err := r.launches(s, nil); err != nil {
		return err
	}
	for i, l := range p.launches {
		at := l.first + atMotion
		r.Launches[i].FirstMotionU = l.step * math.Sqrt(s.covariance.At(at, at))
	}
	r.warn("impossible", "only an impossible flight comes near to what was filmed: it has %s; free another input as well, such as exponent or discharge, or check scale, units and the flight file", r.Impossible)
	return nil
}
