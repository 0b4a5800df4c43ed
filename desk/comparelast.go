package desk

import (
	"context"
	"fmt"
	"sync"
)

// lastCompared keeps the comparison made last, for what a page asks one after the other, the
// comparison and the flight model beside it, or again where it is loaded anew.
type lastCompared struct {
	mu  sync.Mutex
	key string // see comparedKey; empty: none
	c   comparing
	s   CompareSheet
}

// compared compares launches of the logbook from what was kept of them, unless the same comparison was
// made last. What is returned shares its slices with what is kept: it is read and never changed.
func (d *Desk) compared(ctx context.Context, names []string, o CompareOptions) (*comparing, *CompareSheet, error) {
	c, err := d.comparingKept(names, o)
	if err != nil {
		return nil, nil, err
	}
	key, err := d.comparedKey(c, names)
	if err != nil {
		return nil, nil, err
	}
	last := &d.last
	last.mu.Lock()
	defer last.mu.Unlock()
	if last.key != key {
		s, err := c.sheet(ctx)
		if err != nil {
			return nil, nil, err
		}
		last.key, last.c, last.s = key, *c, *s
	}
	kept, s := last.c, last.s
	return &kept, &s, nil
}

// comparedKey is the digest of all that a comparison depends on: what a model fitted to the launches
// does, what was kept of each, and how it is asked.
func (d *Desk) comparedKey(c *comparing, names []string) (string, error) {
	text := []byte(d.sweepKey(c, names) + fmt.Sprint(c.o.Repeats, c.o.Seed))
	for _, name := range names {
		k := d.kept(name)
		for _, part := range []any{k.sheet, k.record} {
			b, err := indented(part)
			if err != nil {
				return "", err
			}
			text = append(text, b...)
		}
	}
	return digestOf(text), nil
}
