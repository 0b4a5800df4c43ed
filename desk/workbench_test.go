package desk

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"image"
	_ "image/jpeg"
	_ "image/png"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"padside/fault"
	"padside/logbook"
	"padside/staged"
	"padside/wording"
)

// bench is a desk on a fresh logbook, and a take whose stills lie elsewhere.
func bench(t *testing.T) (*Desk, string) {
	t.Helper()
	d, err := Open(filepath.Join(t.TempDir(), "book"), true)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { d.Close() })
	dir := filepath.Join(t.TempDir(), "stills")
	if err := os.Mkdir(dir, 0o755); err != nil {
		t.Fatal(err)
	}
	return d, dir
}

// await waits for a job to be over.
func await(t *testing.T, d *Desk, id string) Job {
	t.Helper()
	for range 12000 { // ten minutes
		j, err := d.Job(id)
		if err != nil {
			t.Fatal(err)
		}
		if j.Over() {
			return j
		}
		time.Sleep(50 * time.Millisecond)
	}
	t.Fatal("the job does not end")
	return Job{}
}

// TestWorkbench walks a launch through the desk: sent as stills, its scale placed, measured, corrected by hand, undone.
func TestWorkbench(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	d, _ := bench(t)
	take := plovers[0].film(t)
	events := d.Watch(ctx)

	in, err := d.NewImport()
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range plovers[0].files {
		b, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		if err := d.Receive(ctx, in.ID, filepath.Base(f), int64(len(b)), bytes.NewReader(b)); err != nil {
			t.Fatal(err)
		}
	}
	name, err := d.FinishImport(ctx, in.ID, Fresh{Title: "Evening flight"})
	if err != nil || name != "evening-flight" {
		t.Fatalf("FinishImport = %q, %v", name, err)
	}
	v, err := d.Sheet(ctx, name, wording.Units{})
	if err != nil || v.State != StateNew {
		t.Fatalf("a fresh launch is %q, %v", v.State, err)
	}
	j, err := d.Measure(name)
	if err != nil {
		t.Fatal(err)
	}
	if j = await(t, d, j.ID); j.State != JobFailed || !strings.Contains(j.Problem.Message, "scale") {
		t.Errorf("measuring without a scale: %+v", j)
	}

	// Scale, time and questions as the pages send them.
	var tree struct {
		Footage struct{ Time map[string]any }
		Scale   map[string]any
	}
	asJSON(t, staged.LaunchText(take, "x", 1), &tree)
	_, err = d.Edit(ctx, name, v.Revision, "tab", []Change{{Do: "scale", Values: tree.Scale}, {Do: "time", Values: tree.Footage.Time},
		{Do: "ask", Speeds: []string{"36 km/h"}, Gates: []string{"0.5 m"}}}, wording.Units{})
	if err != nil {
		t.Fatal(err)
	}
	s, err := d.Setup(ctx, name)
	if err != nil || len(s.Residuals) != 8 || len(s.Says) == 0 || s.Problem != nil || s.FrameHeight != 800 {
		t.Fatalf("Setup = %+v, %v", s, err)
	}
	if j, err = d.Measure(name); err != nil {
		t.Fatal(err)
	}
	if j = await(t, d, j.ID); j.State != JobDone {
		t.Fatalf("measuring: %+v", j.Problem)
	}
	v, err = d.Sheet(ctx, name, wording.Units{Speed: "mph", Acceleration: "g"})
	if err != nil || v.State != StateMeasured || len(v.Lanes) != 1 || len(v.Answers) == 0 || v.Advice == "" {
		t.Fatalf("after measuring: state %q, %d lanes, %d answers, advice %q, %v", v.State, len(v.Lanes), len(v.Answers), v.Advice, err)
	}
	checkView(t, d, v)
	checkSetupTellsLean(t, d, name, v.Warnings)

	checkKeptAnswers(t, d, name)

	// A mark by hand: 3 px off, so that the answers move; then undone.
	q := v.Lanes[0].Trace[len(v.Lanes[0].Trace)-5]
	w, err := d.Edit(ctx, name, v.Revision, "tab", []Change{{Do: "mark", Lane: 1, Frame: q.Frame, X: q.X, Y: q.Y + 3}}, wording.Units{})
	if err != nil || !w.CanUndo || len(w.Marks) != 1 {
		t.Fatalf("after a mark: undo %v, marks %v, %v", w.CanUndo, w.Marks, err)
	}
	if _, err := d.Edit(ctx, name, v.Revision, "other", []Change{{Do: "unmark", Lane: 1, Frame: q.Frame}}, wording.Units{}); !errors.Is(err, logbook.ErrConflict) {
		t.Errorf("an edit of an old revision gave %v", err)
	}
	if w.State != StateMeasured {
		t.Errorf("after a mark the launch is %q: it was followed anew", w.State)
	}
	if w, err = d.Sheet(ctx, name, wording.Units{}); err != nil || w.State != StateMeasured {
		t.Fatalf("after the mark: %q %v", w.State, err)
	}
	marked := 0
	for _, r := range w.Lanes[0].Trace {
		if r.Source == "marked" && r.Frame == q.Frame {
			marked++
		}
	}
	if marked != 1 {
		t.Errorf("the mark does not stand in the trace")
	}
	if w, err = d.Undo(ctx, name, w.Revision, "tab", wording.Units{}); err != nil || len(w.Marks) != 0 || !w.CanRedo {
		t.Errorf("after undo: marks %v, redo %v, %v", w.Marks, w.CanRedo, err)
	}
	cards, err := d.Cards(ctx)
	if err != nil || len(cards) != 1 || cards[0].Name != name || len(cards[0].Chief) == 0 || !cards[0].Exposure {
		t.Errorf("Cards = %+v, %v", cards, err)
	}
	seen := map[string]bool{}
	for len(events) > 0 {
		seen[(<-events).Kind] = true
	}
	if !seen["job"] || !seen["launch"] || !seen["logbook"] {
		t.Errorf("events seen: %v", seen)
	}
}

// checkKeptAnswers compares a launch with a copy of itself, from what was kept of both: the answers are the sheet's own to the last
// digit, and nothing tells the two apart.
func checkKeptAnswers(t *testing.T, d *Desk, name string) {
	t.Helper()
	ctx := context.Background()
	if err := os.CopyFS(d.book.Folder("twin"), os.DirFS(d.book.Folder(name))); err != nil {
		t.Fatal(err)
	}
	defer d.Trash("twin")
	l, answer, err := d.answererOf(name)
	if err != nil {
		t.Fatal(err)
	}
	m, err := answer(ctx, l, Options{})
	if err != nil {
		t.Fatal(err)
	}
	sheet := d.kept(name).sheet
	got, _ := json.Marshal(m.Sheet.Answers)
	want, _ := json.Marshal(sheet.Answers)
	if !bytes.Equal(got, want) {
		t.Errorf("answers from what was kept:\n%s\nwant\n%s", got, want)
	}
	v, err := d.CompareNames(ctx, []string{name, "twin"}, "", true, wording.Units{Speed: "mph"})
	if err != nil {
		t.Fatal(err)
	}
	if len(v.Curves) != 2 || len(v.Curves[1].T) == 0 || len(v.Order) != 1 || len(v.Order[0]) != 2 || len(v.Repeats) == 0 {
		t.Errorf("compared with itself: %d curves, order %v, %d repeats", len(v.Curves), v.Order, len(v.Repeats))
	}
	for _, r := range v.Rows {
		for _, p := range r.Ratios {
			if p.Interval[0] > 1 || p.Interval[1] < 1 {
				t.Errorf("%s: a ratio to itself of %v", r.Label, p.Interval)
			}
		}
	}
	if _, err := d.CompareNames(ctx, []string{name}, "", false, wording.Units{}); err == nil {
		t.Error("one launch was compared")
	}
	checkComparedAnew(t, d, name, v)
}

// checkComparedAnew wants a comparison asked for again to be the one made last, v, of a launch and its twin, and to be made anew where it is asked
// otherwise or other answers were kept.
func checkComparedAnew(t *testing.T, d *Desk, name string, v *CompareView) {
	t.Helper()
	ask := func(repeats bool) *CompareView {
		t.Helper()
		v, err := d.CompareNames(context.Background(), []string{name, "twin"}, "", repeats, wording.Units{Speed: "mph"})
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
	if again := ask(true); !reflect.DeepEqual(again, v) {
		t.Error("asked again, the comparison is another")
	}
	const marked = "as made last"
	d.last.s.OrderBy = marked
	if ask(true).OrderBy != marked {
		t.Error("the same comparison was made twice")
	}
	if v := ask(false); v.OrderBy == marked || len(v.Repeats) > 0 {
		t.Error("repeats are summed up unasked")
	}
	d.last.s.OrderBy = marked
	sheet := d.kept("twin").sheet
	sheet.Trace = sheet.Trace[:len(sheet.Trace)-1]
	b, err := indented(sheet)
	if err != nil {
		t.Fatal(err)
	}
	both := d.kin("twin")
	put(t, filepath.Join(d.book.Folder("twin"), recorderFile), strings.Replace(string(both[recorderFile]), digestOf(both[answersFile]), digestOf(b), 1))
	if err := os.WriteFile(filepath.Join(d.book.Folder("twin"), answersFile), b, 0o644); err != nil {
		t.Fatal(err)
	}
	if ask(false).OrderBy == marked {
		t.Error("a trace kept since is not compared")
	}
}

// checkView looks at what the launch page gets.
func checkView(t *testing.T, d *Desk, v *View) {
	t.Helper()
	ctx := context.Background()
	lane := v.Lanes[0]
	if lane.Streak == nil || len(lane.Streak.Times) != len(lane.Streak.Frames) || lane.Streak.H1 <= lane.Streak.H0 {
		t.Fatalf("the streak is %+v", lane.Streak)
	}
	b, mime, tag, err := d.Picture(ctx, v.Name, "streak", 1)
	img, _, decodeErr := image.Decode(bytes.NewReader(b))
	if err != nil || decodeErr != nil || mime != "image/png" || tag == "" || img.Bounds().Dx() != len(lane.Streak.Frames) || img.Bounds().Dy() != lane.Streak.Rows {
		t.Errorf("streak: %v, %q, %v, %v", img.Bounds(), mime, err, decodeErr)
	}
	if b, mime, _, err = d.Picture(ctx, v.Name, "exposure", 0); err != nil || mime != "image/jpeg" || len(b) == 0 {
		t.Errorf("exposure: %d bytes, %q, %v", len(b), mime, err)
	}
	if _, _, _, err := d.Picture(ctx, v.Name, "portrait", 0); !errors.Is(err, ErrUnknown) {
		t.Errorf("an unknown picture gave %v", err)
	}
	b, mime, err = d.Frame(ctx, v.Name, 3, FrameRequest{Crop: &[4]int{-10, 20, 64, 48}})
	if err != nil || mime != "image/png" {
		t.Fatal(mime, err)
	}
	if img, _, err = image.Decode(bytes.NewReader(b)); err != nil || img.Bounds().Dx() != 64 || img.Bounds().Dy() != 48 {
		t.Errorf("crop: %v, %v", img.Bounds(), err)
	}
	if _, _, err := d.Frame(ctx, v.Name, 100000, FrameRequest{}); !errors.Is(err, ErrUnknown) {
		t.Errorf("a frame beyond the end gave %v", err)
	}
	j, err := json.Marshal(v)
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{`"sentence":"`, ` mph`, `"lanes":[{"lane":1`, `"interval95":[`, `"times":[0`} {
		if !strings.Contains(string(j), want) {
			t.Errorf("the view's JSON lacks %s", want)
		}
	}
}

// asJSON reads TOML as JSON would have it.
func asJSON(t *testing.T, text []byte, to any) {
	t.Helper()
	tree, err := treeOf(text)
	if err != nil {
		t.Fatal(err)
	}
	b, err := json.Marshal(tree)
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(b, to); err != nil {
		t.Fatal(err)
	}
}

func TestCancelledJob(t *testing.T) {
	t.Parallel()
	q := newJobs(func(Event) {})
	started := make(chan bool)
	j := q.start(context.Background(), Job{Launch: "a"}, func(ctx context.Context, progress func(string, int, int)) error {
		close(started)
		progress("follow", 1, 2)
		<-ctx.Done()
		return ctx.Err()
	})
	<-started
	if again := q.start(context.Background(), Job{Launch: "a"}, nil); again.ID != j.ID {
		t.Errorf("a second job on one launch: %s, want %s", again.ID, j.ID)
	}
	waiting := q.start(context.Background(), Job{Launch: "b"}, func(context.Context, func(string, int, int)) error { return errors.New("should not run") })
	for _, id := range []string{waiting.ID, j.ID} {
		if err := q.stop(id); err != nil {
			t.Fatal(err)
		}
	}
	q.over.Wait()
	for _, id := range []string{j.ID, waiting.ID} {
		if got, err := q.get(id); err != nil || got.State != JobCancelled {
			t.Errorf("job %s is %q, %v", id, got.State, err)
		}
	}
	if _, err := q.get("none"); !errors.Is(err, ErrUnknown) {
		t.Errorf("an unknown job gave %v", err)
	}
}

// checkSetupTellsLean: what the vehicle's length tells of the lean is said by the setup page as by the launch's own.
func checkSetupTellsLean(t *testing.T, d *Desk, name string, measured []fault.Warning) {
	t.Helper()
	s, err := d.Setup(t.Context(), name)
	if err != nil {
		t.Fatal(err)
	}
	told := func(list []fault.Warning) bool {
		return slices.ContainsFunc(list, func(w fault.Warning) bool { return w.Code == "scale-lean-seen" })
	}
	if !told(measured) {
		t.Fatalf("the take shows no barrel: %v", measured)
	}
	if s.TimeProblem != nil || len(s.TimeSays) != 1 || !strings.HasSuffix(s.TimeSays[0], "frames a second, as stated") {
		t.Errorf("the setup page says of the times %v, %v", s.TimeSays, s.TimeProblem)
	}
	if !told(s.Warnings) || slices.ContainsFunc(s.Warnings, func(w fault.Warning) bool { return w.Code == "scale-lean-assumed" }) {
		t.Errorf("the setup page says of the lean %v", s.Warnings)
	}
}

// TestLeanRange: both ends, and their way once where it is the same.
func TestLeanRange(t *testing.T) {
	t.Parallel()
	const degree = math.Pi / 180
	for _, c := range []struct {
		low, high float64
		want      string
	}{
		{0.6 * degree, 1.3 * degree, "by 0.6 to 1.3 degrees away from"},
		{-1.3 * degree, -0.6 * degree, "by 0.6 to 1.3 degrees towards"},
		{-0.1 * degree, 1.3 * degree, "from 0.1 degrees towards to 1.3 degrees away from"},
		{-0.02 * degree, 1.3 * degree, "by 0.0 to 1.3 degrees away from"}, // a lean that rounds to none leans nowhere
	} {
		if got := leanRange(c.low, c.high); got != c.want {
			t.Errorf("leanRange(%g, %g) = %q, want %q", c.low, c.high, got, c.want)
		}
	}
}
