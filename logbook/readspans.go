package logbook

import "fmt"

// averageSpeeds reads the pairs of frames whose mean speed is asked for.
func (r *reader) averageSpeeds(t *table, q *Questions) {
	const example = "average_speeds = [ { from = 3, to = 7 } ]"
	for _, s := range r.tables(t, "average_speeds", example) {
		r.known(s, "average_speeds", "from", "to")
		for _, key := range [...]string{"from", "to"} {
			if s.get(key) == nil {
				r.fail(s.line, "name two frames, counted from 0: "+example, "an entry of average_speeds has no %s", key)
			}
		}
		span := FrameSpan{r.whole(s, "from", 0), r.whole(s, "to", 0)}
		written := fmt.Sprintf("average_speeds { from = %d, to = %d }", span.From, span.To)
		switch {
		case span.From < 0:
			r.fail(s.line, "frames count from 0", "%s begins before the first frame", written)
		case span.From >= span.To:
			r.fail(s.line, "name the earlier frame as from and a later one as to", "%s does not run forward", written)
		}
		if contains(q.AverageSpeeds, span) {
			r.fail(s.line, "leave one of them out", "%s is asked for twice", written)
		}
		q.AverageSpeeds = append(q.AverageSpeeds, span)
	}
}
