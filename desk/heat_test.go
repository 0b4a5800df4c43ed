package desk

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math/rand/v2"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"padside/fault"
	"padside/logbook"
	"padside/metrology"
	"padside/motion"
	"padside/study"
	"padside/trace"
)

// entrant is a launch as a test has it: its conditions and the true answer of each lane with the standard uncertainty that it is measured with.
type entrant struct {
	conditions string
	lanes      []float64 // s; negative: the speed was not reached
	u          float64
	err        error // in place of a measurement
}

// race runs a heat file over launches that no footage stands behind: each answers the heat's question with what it was given.
func race(t *testing.T, text string, launches map[string]entrant) (*HeatSheet, error) {
	t.Helper()
	h, err := logbook.ParseHeat([]byte(text), "heat.toml")
	if err != nil {
		t.Fatal(err)
	}
	r := &racing{file: h}
	err = r.gather(func(path string) (*logbook.Launch, error) {
		f, ok := launches[path]
		if !ok {
			return nil, fault.Requestf("give the path of a launch file", "there is no file %s", path)
		}
		return logbook.ParseLaunch(fmt.Appendf(nil, "format = 1\ntitle = \"The launch %s\"\nvehicle = %q\n[conditions]\n%s\n[footage]\npath = \"x.mp4\"\n[scale]\nkind = \"length\"\nlength = \"1.2(0) m\"\nends = [{x = 1.0, y = 1.0}, {x = 1.0, y = 200.0}]\n[trace]\nlanes = %d\n",
			path, strings.Join(strings.Split("Avocet, Bunting, Curlew", ", ")[:len(f.lanes)], ", "), f.conditions, len(f.lanes)), path)
	})
	if err != nil {
		return nil, err
	}
	return r.run(context.Background(), func(_ context.Context, l *logbook.Launch, o Options) (*Measurement, error) {
		f := launches[l.Path]
		if f.err != nil {
			return nil, f.err
		}
		if len(l.Questions.Speeds) != 1 {
			t.Errorf("%s is asked for %v, want the heat's speed", l.Path, l.Questions.Speeds)
		}
		m := &Measurement{Launch: l, Sheet: &Sheet{Footage: FootageLine{Frames: 100, Basis: "rate", RateHz: 1000}}}
		for k, truth := range f.lanes {
			speed := l.Questions.Speeds[0].Value
			a := metrology.Answer{ID: motion.TimeToSpeed, Lane: k + 1, Speed: &speed, Unit: "s"}
			rnd, draws := rand.New(rand.NewPCG(seedOf(l.Path), uint64(k))), []float64(nil)
			if truth < 0 {
				a = metrology.WithoutValue(a, metrology.NotReached, "the speed was not reached in view")
			} else {
				for range 2000 {
					draws = append(draws, truth+f.u*rnd.NormFloat64())
				}
				if a, err = metrology.FromDraws(a, truth, draws); err != nil {
					t.Fatal(err)
				}
			}
			m.Lanes = append(m.Lanes, Lane{Path: trace.Path{Lane: k + 1}, Motion: &motion.Result{Answers: []metrology.Answer{a}, Draws: [][]float64{draws}}})
		}
		return m, nil
	})
}

// entered is a heat file on 60 mph with rules and launches.
func entered(rules string, launches ...string) string {
	text := "format = 1\ntitle = \"Club heat\"\n[question]\nanswer = \"time_to_speed\"\nspeed = \"60 mph\"\n[rules]\n" + rules + "\n"
	for _, l := range launches {
		text += "[[entry]]\n" + l + "\n"
	}
	return text
}

func standings(s *HeatSheet) string {
	var out []string
	for _, e := range s.Entries {
		out = append(out, strings.TrimSpace(e.Number+" "+string(e.Standing)+" "+e.Place))
	}
	return strings.Join(out, "; ")
}

func TestHeatNamesEveryBreach(t *testing.T) {
	t.Parallel()
	water := func(s string) string { return `water = "` + s + `"` }
	s, err := race(t, entered("water = { same = true, within = \"10 mL\" }\npressure = { is = \"5.2 bar\", within = \"0.2 bar\" }\nclass = \"Two litres\"",
		`launch = "a"`, `launch = "b"`, `launch = "c"`, `launch = "d"`, "launch = \"e\"\nname = \"Eve's\"", `launch = "f"`),
		map[string]entrant{
			"a": {water("350 mL") + "\npressure = \"5.3 bar\"\nclass = \"two  litres\"", []float64{0.060}, 2e-4, nil},
			"b": {water("350(5) mL") + "\npressure = \"75.4 psi\"\nclass = \"two litres\"", []float64{0.055}, 2e-4, nil}, // 350 ± 9.8 mL, 5.199 bar
			"c": {water("355(5) mL") + "\npressure = \"5.2 bar\"\nclass = \"two litres\"", []float64{0.0551}, 2e-4, nil}, // 345 to 365 mL
			"d": {water("420 mL") + "\npressure = \"6 bar\"\nclass = \"one litre\"", []float64{0.040}, 2e-4, nil},
			"e": {water("350 mL") + "\nclass = \"two litres\"", []float64{0.050}, 2e-4, nil},
			"f": {water("350 mL") + "\npressure = \"5.2 bar\"\nclass = \"two litres\"", []float64{-1}, 0, nil},
		})
	if err != nil {
		t.Fatal(err)
	}
	if got, want := standings(s), "1 classified 3; 2 classified 1 =; 3 classified 1 =; 4 not-classified; 5 not-classified; 6 no-result"; got != want {
		t.Errorf("standings: %s\nwant       %s", got, want)
	}
	if want := [][]int{{2, 3}, {1}}; !reflect.DeepEqual(s.Order, want) {
		t.Errorf("order %v, want %v", s.Order, want)
	}
	var b bytes.Buffer
	if err := s.Text(&b); err != nil {
		t.Fatal(err)
	}
	text := b.String()
	for _, want := range []string{
		"water 420 mL, where 350 mL within 10 mL is allowed",
		"pressure 6 bar, where 5.2 bar within 0.2 bar is allowed",
		"class one litre, where Two litres is allowed",
		"its pressure is not stated, where 5.2 bar within 0.2 bar is allowed",
		"it cannot be told whether it keeps a rule: water 355(5) mL, by its uncertainty anything from 345.2 to 364.8 mL",
		"the speed was not reached in view", "time to 60 mph, from first motion", "Eve's",
	} {
		if !strings.Contains(text, want) {
			t.Errorf("the text lacks %q:\n%s", want, text)
		}
	}
	if strings.Contains(text, "water 350(5) mL, by") {
		t.Errorf("350(5) mL lies inside 340 to 360 mL, and is doubted:\n%s", text)
	}
	if v := s.Entries[3].Answer.Value; v == nil || *v != 0.040 {
		t.Error("an entry out of the order lost its number")
	}
	if got := s.Entries[1].Checks[1]; got.Verdict != study.Inside || got.Flown != "75.4 psi" {
		t.Errorf("75.4 psi against 5.2 bar within 0.2 bar: %+v", got)
	}
	out := filepath.Join(t.TempDir(), "out")
	if err := s.Keep(out); err != nil {
		t.Fatal(err)
	}
	data, err := s.JSON()
	var tree map[string]any
	if err != nil || json.Unmarshal(data, &tree) != nil || tree["format"] != "padside-heat" || tree["version"] != 1.0 {
		t.Errorf("the JSON: %v, %.80s", err, data)
	}
	for _, key := range []string{"question", "rules", "entries", "order", "ratios", "differences", "odds", "warnings"} {
		if tree[key] == nil {
			t.Errorf("the JSON lacks %q", key)
		}
	}
}

func TestHeatOfLanes(t *testing.T) {
	t.Parallel()
	pair := map[string]entrant{"p": {`water = "350 mL"`, []float64{0.06, 0.05}, 2e-4, nil}, "a": {`water = "350 mL"`, []float64{0.055}, 2e-4, nil}}
	// Two lanes of one clip race each other, and each may carry its own water.
	s, err := race(t, entered(`water = { is = "350 mL", within = "10 mL" }`, "launch = \"p\"\nlane = 1", "launch = \"p\"\nlane = 2\nconditions = { water = \"400 mL\" }"), pair)
	if err != nil || standings(s) != "1 classified 1; 2 not-classified" || s.Entries[1].Vehicle != "Bunting" {
		t.Errorf("two lanes: %v, %v", standings(s), err)
	}
	if len(s.Warnings) != 1 || s.Warnings[0].Code != "one-classified" {
		t.Errorf("one alone: warnings %v", s.Warnings)
	}
	// An entry that names no lane stands for all of them.
	s, err = race(t, entered("", `launch = "p"`, "launch = \"a\"\nnumber = 9"), pair)
	if err != nil || standings(s) != "1.1 classified 3; 1.2 classified 1; 9 classified 2" {
		t.Errorf("all lanes: %v, %v", standings(s), err)
	}
	if len(s.Warnings) != 1 || s.Warnings[0].Code != "setups-differ" {
		t.Errorf("two cameras: warnings %v", s.Warnings)
	}
	_, err = race(t, entered("", "launch = \"p\"\nlane = 3", `launch = "a"`), pair)
	var f *fault.Error
	if !errors.As(err, &f) || f.Kind != fault.Request || !strings.Contains(f.Message, "entry 1: it asks for lane 3 of p, which shows 2") || f.Hint == "" {
		t.Errorf("a lane that is not there gave %v", err)
	}
}

func TestHeatWithoutAnswers(t *testing.T) {
	t.Parallel()
	still := fault.NoAnswerf("check it", "nothing moves in b.mp4")
	list := map[string]entrant{"a": {"", []float64{0.06}, 2e-4, nil}, "b": {"", []float64{0.05}, 2e-4, still}, "c": {"", []float64{-1}, 0, nil}}
	s, err := race(t, entered("", `launch = "a"`, `launch = "b"`), list)
	if err != nil || standings(s) != "1 classified 1; 2 no-result" || s.Entries[1].Problem != "nothing moves in b.mp4" {
		t.Errorf("footage without an answer: %s, %v", standings(s), err)
	}
	if s, err = race(t, entered(`class = "x"`, `launch = "a"`, `launch = "c"`), list); err != nil || len(s.Order) != 0 || s.Warnings[len(s.Warnings)-1].Code != "nobody-classified" {
		t.Errorf("nobody keeps the rules: %s, %v", standings(s), err)
	}
	var b bytes.Buffer
	if err := s.Text(&b); err != nil || !strings.Contains(b.String(), "not classified") {
		t.Errorf("nobody classified: %v\n%s", err, b.String())
	}
	if _, err = race(t, entered("", `launch = "a"`, `launch = "gone"`), list); err == nil || !strings.Contains(err.Error(), "entry 2: there is no file gone") {
		t.Errorf("a launch that is not there gave %v", err)
	}
	list["b"] = entrant{"", []float64{0.05}, 1, errors.New("the disk failed")}
	if _, err = race(t, entered("", `launch = "a"`, `launch = "b"`), list); err == nil || !strings.Contains(err.Error(), "entry 2: the disk failed") {
		t.Errorf("a broken disk gave %v", err)
	}
	// What no rule is about is said where it differs.
	list = map[string]entrant{"a": {"water = \"350 mL\"\npressure = \"5 bar\"\nair_temperature = \"10 degC\"", []float64{0.06}, 1e-4, nil}, "b": {"water = \"400 mL\"\npressure = \"500 kPa\"\nair_temperature = \"20 degC\"", []float64{0.05}, 1e-4, nil}}
	if s, err = race(t, entered("", `launch = "a"`, `launch = "b"`), list); err != nil || s.Warnings[len(s.Warnings)-1].Message != "the entries differ in water, about which this heat has no rule" {
		t.Errorf("another fill: %v, %v", s.Warnings, err)
	}
	if s, err = race(t, entered(`water = { most = "1 L" }`, `launch = "a"`, `launch = "b"`), list); err != nil || s.Warnings[len(s.Warnings)-1].Code == "unruled-conditions" {
		t.Errorf("another fill under a rule: %v, %v", s.Warnings, err)
	}
	// Alike among each other: of two that differ neither is the rule; of three the odd one out.
	list = map[string]entrant{"a": {`nose = "round"`, []float64{0.06}, 1e-4, nil}, "b": {`nose = "sharp"`, []float64{0.05}, 1e-4, nil}, "c": {`nose = "Round"`, []float64{0.05}, 1e-4, nil}}
	if s, err = race(t, entered("nose = { same = true }", `launch = "a"`, `launch = "b"`), list); err != nil || standings(s) != "1 not-classified; 2 not-classified" {
		t.Errorf("two noses: %s, %v", standings(s), err)
	}
	if s, err = race(t, entered("nose = { same = true }", `launch = "a"`, `launch = "b"`, `launch = "c"`), list); err != nil || standings(s) != "1 classified 2; 2 not-classified; 3 classified 1" {
		t.Errorf("three noses: %s, %v", standings(s), err)
	}
}
