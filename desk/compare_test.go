package desk

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"math"
	"strings"
	"testing"

	"padside/motion"
	"padside/scene"
)

// TestCompareTwoLaunchesOfOneSetup draws two bottle rockets before one camera and compares them: ratios hold the truth and are
// narrower than those of launches that share nothing.
func TestCompareTwoLaunchesOfOneSetup(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	var paths []string
	var takes []*scene.Take
	for i := range plovers {
		paths, takes = append(paths, plovers[i].launch(t, 3, `setup = "mast"`)), append(takes, plovers[i].take)
	}
	c, err := gather(ctx, paths, CompareOptions{})
	if err != nil {
		t.Fatal(err)
	}
	s, err := c.sheet(ctx)
	if err != nil {
		t.Fatal(err)
	}
	for i, name := range []string{"heron", "plover"} {
		c.launches[i].Setup = name
	}
	wide, err := c.sheet(ctx)
	if err != nil {
		t.Fatal(err)
	}
	known := [2]map[string]float64{{}, {}}
	for i, take := range takes {
		for _, k := range take.Known() {
			known[i][fmt.Sprintf("%s %.2f", k.ID, k.At)] = k.Value
		}
	}
	held, all := 0, 0
	for i, row := range s.Answers {
		if row.ID != motion.TimeToSpeed || len(row.Ratios) == 0 {
			continue
		}
		key := fmt.Sprintf("%s %.2f", row.ID, *row.Speed)
		a, b := known[0][key], known[1][key]
		if a == 0 || b == 0 {
			continue
		}
		all++
		p := row.Ratios[0]
		if p.Interval[0] <= b/a && b/a <= p.Interval[1] {
			held++
		}
		q := wide.Answers[i].Ratios[0]
		if math.Abs(q.Value/p.Value-1) > 0.01 || q.Interval[1]-q.Interval[0] < p.Interval[1]-p.Interval[0] {
			t.Errorf("%s: apart %+v is not wider than of one setup %+v", key, q, p)
		}
	}
	if all == 0 || held < all-1 {
		t.Errorf("%d of %d ratios hold the truth", held, all)
	}
	b, err := s.JSON()
	if err != nil {
		t.Fatal(err)
	}
	var tree map[string]any
	if err := json.Unmarshal(b, &tree); err != nil {
		t.Fatal(err)
	}
	for _, key := range []string{"format", "version", "launches", "answers", "order", "warnings"} {
		if tree[key] == nil {
			t.Errorf("the JSON lacks %q", key)
		}
	}
	var text bytes.Buffer
	if err := s.Text(&text); err != nil || !strings.Contains(text.String(), "2 to 1") {
		t.Errorf("the text: %v\n%s", err, text.String())
	}
	if _, err := Compare(ctx, []string{paths[0], paths[0]}, CompareOptions{}); err == nil || !strings.Contains(err.Error(), "same file") {
		t.Errorf("one launch twice gave %v", err)
	}
	if _, err := Compare(ctx, paths[:1], CompareOptions{}); err == nil {
		t.Error("one launch alone was compared")
	}
}
