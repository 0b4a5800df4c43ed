package desk

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"log"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"padside/guard"
	"padside/wording"
)

const keptLaunchText = "format = 1\ntitle = \"Avocet\"\n[footage]\npath = \"x.mp4\"\n[scale]\nkind = \"length\"\nlength = \"1.2(1) m\"\nends = [ { x = 1.0, y = 1.0 }, { x = 1.0, y = 90.0 } ]\n"

// keptFootageText is the content of the footage, keptFootageSum its SHA-256 (FIPS 180-4, as coreutils sha256sum prints it).
const (
	keptFootageText = "a clip"
	keptFootageSum  = "e899537b4c9149cd5edb2000ea1e14f1d8eb76be0ceec7868ad01c7e389eb5b9"
)

// keptAnswersText and keptRecorderText are what measuring leaves, made short.
const (
	keptAnswersText = `{"format":"padside-answers","version":1,"program":"padside","seed":1,"launch":{"title":"Avocet","vehicle":"A"},
"footage":{"path":"x.mp4","sha256":"` + keptFootageSum + `","frames":3,"basis":"rate","rate_hz":100,"width":64,"height":96},
"answers":[{"id":"peak_speed","unit":"m/s","status":"measured","value":20,"standard_uncertainty":0.1,"interval95":[19.8,20.2],"budget":[{"source":"scale","share":1}]},
{"id":"time_to_speed","speed":30,"unit":"s","status":"not-reached","reason":"never so fast in view"}],
"trace":[{"lane":1,"frame":0,"t":0,"x":10,"y":90,"u":0.1,"height":0,"u_height":0.001,"quality":1,"source":"followed","phase":[1,0]}],
"history":[{"lane":1,"t":0,"height":0,"speed":0,"acceleration":0}],"warnings":[{"code":"c","message":"m"}]}`
	keptRecorderText = `{"format":"padside-recorder","version":1,"of":"OF","times":[0,0.01,0.02],"from":0,"to":2,"stamp_u":0,"rate_u":0,"doubt":{},
"lanes":[{"lane":1,"line":{"x0":10,"y0":90,"ux":0,"uy":-1},"dropped":[{"frame":1,"reason":"r"}],"left_view":false,"growth":{"rate":0,"u":0.1},"streak":{"frames":[0,1],"times":[0,0.01],"h0":0,"h1":1,"rows":640}}]}`
)

// keptBook is a desk whose launch avocet was measured, by its files.
func keptBook(t *testing.T) (d *Desk, dir string) {
	t.Helper()
	d, _ = bench(t)
	dir = filepath.Join(d.Dir(), "launches", "avocet")
	if err := os.MkdirAll(dir, 0o755); err != nil {
		t.Fatal(err)
	}
	for name, text := range map[string]string{"launch.toml": keptLaunchText, "x.mp4": keptFootageText, answersFile: keptAnswersText,
		recorderFile: strings.Replace(keptRecorderText, "OF", digestOf([]byte(keptLaunchText)), 1)} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	return d, dir
}

// Every value of the files kept of a launch is replaced in turn by null, by a number, by a text and by an empty list: the logbook and the launch's page
// open, and an answer is there whole or the launch is said not to be measured.
func TestDamagedAnswers(t *testing.T) {
	t.Parallel()
	d, dir := keptBook(t)
	if v := keptView(t, d, "as kept"); v.State != StateMeasured || len(v.Answers) != 2 {
		t.Fatalf("the launch is %q with %d answers, %+v; want it measured", v.State, len(v.Answers), v.Problem)
	}
	said := map[string]int{}
	for _, file := range []string{answersFile, recorderFile} {
		path := filepath.Join(dir, file)
		whole, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		var tree any
		if err := json.Unmarshal(whole, &tree); err != nil {
			t.Fatal(err)
		}
		replaced(tree, "", func(where string) {
			text, err := json.Marshal(tree)
			if err != nil {
				t.Fatal(err)
			}
			if err := os.WriteFile(path, text, 0o644); err != nil {
				t.Fatal(err)
			}
			v := keptView(t, d, file+where)
			if v.State == StateFailed && v.Problem.Hint == "measure it again" {
				said[file]++
				said[file+where] = 1
			}
		})
		if err := os.WriteFile(path, whole, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	for _, want := range []string{answersFile + ".answers[0].interval95=null", answersFile + ".answers[0].value=null", answersFile + ".answers[0].standard_uncertainty=null",
		answersFile + ".answers[0].interval95[0]=\"x\"", recorderFile + ".lanes[0].lane=null"} {
		if said[want] == 0 {
			t.Errorf("nothing is said of %s", want)
		}
	}
	t.Logf("said of %d changes to the answers, %d to the recorder", said[answersFile], said[recorderFile])
}

// Answers beside the recorder of another result are not taken for measured, nor is a picture of another shown; without the recorder, which is
// written last, nothing is measured.
func TestResultsAreNotMixed(t *testing.T) {
	t.Parallel()
	d, dir := keptBook(t)
	put(t, filepath.Join(dir, exposureFile), "a picture")
	text, err := os.ReadFile(filepath.Join(dir, recorderFile))
	if err != nil {
		t.Fatal(err)
	}
	files := fmt.Sprintf(`"files":{%q:%q,%q:%q},"times"`, answersFile, digestOf([]byte(keptAnswersText)), exposureFile, digestOf([]byte("a picture")))
	put(t, filepath.Join(dir, recorderFile), strings.Replace(string(text), `"times"`, files, 1))
	if v := keptView(t, d, "whole"); v.State != StateMeasured {
		t.Fatalf("the launch is %q, %+v", v.State, v.Problem)
	}
	if _, _, _, err := d.Picture(context.Background(), "avocet", "exposure", 1); err != nil {
		t.Errorf("the picture: %v", err)
	}
	put(t, filepath.Join(dir, exposureFile), "another")
	if _, _, _, err := d.Picture(context.Background(), "avocet", "exposure", 1); err == nil {
		t.Error("a picture of another result is shown")
	}
	put(t, filepath.Join(dir, answersFile), strings.Replace(keptAnswersText, "20", "21", 1))
	if v := keptView(t, d, "other answers"); v.State != StateFailed || v.Problem.Hint != "measure it again" || !strings.Contains(v.Problem.Message, "not of one result") {
		t.Errorf("with other answers the launch is %q, %+v", v.State, v.Problem)
	}
	if err := os.Remove(filepath.Join(dir, recorderFile)); err != nil {
		t.Fatal(err)
	}
	if v := keptView(t, d, "no recorder"); v.State != StateNew || len(v.Answers) != 0 {
		t.Errorf("without the recorder the launch is %q with %d answers", v.State, len(v.Answers))
	}
}

// keptView opens the logbook and the launch.
func keptView(t *testing.T, d *Desk, where string) *View {
	t.Helper()
	if cards, err := d.Cards(context.Background()); err != nil || len(cards) != 1 || strings.Contains(cards[0].Problem, "fault of the program") {
		t.Fatalf("%s: cards %+v, %v", where, cards, err)
	}
	v, err := d.Sheet(context.Background(), "avocet", wording.Units{})
	if err != nil {
		t.Fatalf("%s: %v", where, err)
	}
	return v
}

// replaced calls try with each value of a JSON tree replaced in place, and puts it back.
func replaced(tree any, at string, try func(where string)) {
	each := func(old any, at string, set func(any)) {
		for _, v := range []any{nil, -1e300, "x", []any{}} {
			set(v)
			text, _ := json.Marshal(v)
			try(at + "=" + string(text))
		}
		set(old)
		replaced(old, at, try)
	}
	switch tree := tree.(type) {
	case map[string]any:
		for k, old := range tree {
			each(old, at+"."+k, func(v any) { tree[k] = v })
		}
	case []any:
		for i, old := range tree {
			each(old, fmt.Sprintf("%s[%d]", at, i), func(v any) { tree[i] = v })
		}
	}
}

// A job that panics fails, with a line in the log that names the launch; the next one runs.
func TestPanicEndsOneJob(t *testing.T) {
	var out bytes.Buffer
	was := log.Writer()
	log.SetOutput(&out)
	defer log.SetOutput(was)
	q := newJobs(func(Event) {})
	work := func(f func()) func(context.Context, func(string, int, int)) error {
		return func(ctx context.Context, _ func(string, int, int)) error {
			g, _ := guard.WithContext(ctx)
			g.Go(func() error { f(); return nil })
			return g.Wait()
		}
	}
	bad := q.start(context.Background(), Job{Launch: "heron"}, work(func() { panic("a broken\nmatcher") }))
	good := q.start(context.Background(), Job{Launch: "teal"}, work(func() {}))
	if err := q.over.Wait(); err != nil {
		t.Error(err)
	}
	if j, err := q.get(bad.ID); err != nil || j.State != JobFailed || !strings.Contains(j.Problem.Message, "a broken matcher at desk/kept_test.go:") {
		t.Errorf("the job is %q, %+v, %v", j.State, j.Problem, err)
	}
	if j, err := q.get(good.ID); err != nil || j.State != JobDone {
		t.Errorf("the next job is %q, %v", j.State, err)
	}
	if got := out.String(); strings.Count(got, "\n") != 1 || !strings.Contains(got, "launch heron: a broken matcher") {
		t.Errorf("the log reads %q", got)
	}
}
