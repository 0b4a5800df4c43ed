package desk

import (
	"cmp"
	"context"
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"padside/logbook"
	"padside/motion"
	"padside/scene"
)

// race sets four vehicles against each other under rules that a fifth entry breaks, by the time to 60 mph, and leaves the result sheet.
func (d *demoDay) race(ctx context.Context) error {
	fill := d.club.Fills[d.club.Entry]
	entries := append([]scene.ClubLaunch{fill}, d.club.Rivals...)
	less := d.club.Fills[d.club.Entry-1]
	h := logbook.HeatText{Title: "Club day heat", Answer: motion.TimeToSpeed, Speed: "60 mph", Rules: []logbook.HeatRuleText{
		{Key: "water", Is: fill.Take.Conditions[0].Value, Within: "10 mL"}, {Key: "pressure", Same: true, Within: "2 %"}}}
	for _, e := range append(entries, less) {
		h.Entries = append(h.Entries, logbook.HeatEntryText{Launch: logbook.LaunchFrom(e.Name)})
	}
	name, err := d.desk.book.NewHeat(h.Title, func(string) []byte { return logbook.FormatHeat(&h) })
	if err != nil {
		return err
	}
	s, err := d.desk.HeatSheet(ctx, name)
	if err != nil {
		return err
	}
	d.say("\n")
	if err := s.Text(d.Out); err != nil {
		return err
	}
	slices.SortFunc(entries, func(a, b scene.ClubLaunch) int { return cmp.Compare(timeToSixty(a), timeToSixty(b)) })
	var order []string
	for _, e := range entries {
		order = append(order, fmt.Sprintf("%s %.2f ms", e.Take.Vehicles[0], 1e3*timeToSixty(e)))
	}
	d.say("In truth: %s.\n", strings.Join(order, ", "))
	return s.Keep(filepath.Join(d.Dir, "heats", name))
}

// timeToSixty is the true time to 60 mph, s.
func timeToSixty(l scene.ClubLaunch) float64 {
	for _, k := range l.Take.Known() {
		if k.ID == motion.TimeToSpeed && k.At > 26 && k.At < 27 {
			return k.Value
		}
	}
	return 0
}
