package logbook

import (
	"fmt"
	"path/filepath"
	"strings"

	"padside/units"
)

// HeatFile is a heat: launches that race each other under rules, by one answer.
type HeatFile struct {
	Path        string // of the file
	Title, Date string
	Question    HeatQuestion
	Rules       []HeatRule // in the order written
	Entries     []HeatEntry
}

// HeatQuestion is the answer that is raced on.
type HeatQuestion struct {
	Answer string         // the id of an answer
	At     units.Quantity // the speed or height that belongs to it, SI
	Of     units.Dimension
}

// HeatRule is what a condition must be for an entry to be classified.
type HeatRule struct {
	Key       string
	Dimension units.Dimension // of the quantities; 0 where words are compared
	Same      bool            // all entries alike: as their middle value, or as most of them write it
	Words     string          // what the condition must read; empty where it is a quantity, or Same
	Is        *units.Quantity
	Within    *Tolerance // about Is, or about the middle value where Same
	Least     *units.Quantity
	Most      *units.Quantity

	written HeatRuleText
}

// Tolerance is how far a value may lie off, either way.
type Tolerance struct {
	Value    float64 // SI, or a part of the value it is about where Relative
	Relative bool
	Text     string // as written
}

// Half is the tolerance about a value, SI.
func (t Tolerance) Half(about float64) float64 {
	if t.Relative {
		return t.Value * max(about, -about)
	}
	return t.Value
}

// HeatEntry is a launch, or one lane of it, that races.
type HeatEntry struct {
	Number     string // on its side; as written, else counted from 1
	Name       string // of who or what races; may be empty
	Launch     string // its launch file, resolved
	Given      string // as written
	Lane       int    // 0: not stated
	Conditions []Condition
}

// MostEntries is how many may race in one heat: every pair of them is compared.
const MostEntries = 64

// ReadHeat reads a heat file. Paths in it are resolved against its folder.
func ReadHeat(path string) (*HeatFile, error) {
	data, err := readText(path, "heat")
	if err != nil {
		return nil, err
	}
	return ParseHeat(data, path)
}

// ParseHeat reads a heat file's content; path is where it lies, or would lie.
func ParseHeat(data []byte, path string) (*HeatFile, error) {
	name := filepath.Base(path)
	root, err := textTree(name, data)
	if err != nil {
		return nil, err
	}
	r := &reader{file: name}
	h := &HeatFile{Path: path}
	r.format(root)
	r.known(root, "", "format", "title", "date", "question", "rules", "entry")
	h.Title = r.text(root, "title")
	if v := root.get("date"); v != nil {
		if v.kind != isDate && v.kind != isText {
			r.fail(v.line, "write date = 2026-05-16", "date is %s, where a date is needed", v.kind)
		}
		h.Date = v.text
	}
	if t := r.required(root, "question", `[question] and answer = "time_to_speed", speed = "60 mph"`); t != nil {
		r.heatQuestion(t, &h.Question)
	}
	if t := r.section(root, "rules"); t != nil {
		for _, e := range t.entries {
			h.Rules = append(h.Rules, r.heatRule(e))
		}
	}
	r.heatEntries(root, h)
	if r.err != nil {
		return nil, r.err
	}
	return h, nil
}

// raced are the answers that launches can race on, and what belongs to each.
var raced = [...]struct {
	id, key string
	of      units.Dimension
	example string
}{{"time_to_speed", "speed", units.Speed, `"60 mph"`}, {"gate_crossing", "height", units.Length, `"2 m"`}, {"peak_speed", "", 0, ""},
	{"gate_speed", "height", units.Length, `"2 m"`}, {"mean_acceleration_to_speed", "speed", units.Speed, `"60 mph"`}, {"peak_acceleration", "", 0, ""}}

func (r *reader) heatQuestion(t *table, q *HeatQuestion) {
	r.known(t, "[question]", "answer", "speed", "height")
	q.Answer = r.text(t, "answer")
	var ids []string
	for _, one := range raced {
		ids = append(ids, one.id)
		if one.id != q.Answer {
			continue
		}
		for _, key := range []string{"speed", "height"} {
			if v := t.get(key); v != nil && key != one.key {
				r.fail(v.line, "leave it out", "%s does not belong to the answer %s", key, q.Answer)
			}
		}
		if q.Of = one.of; q.Of == 0 {
			return
		}
		if t.get(one.key) == nil {
			r.fail(t.line, fmt.Sprintf("add %s = %s", one.key, one.example), "the answer %s needs its %s", q.Answer, one.key)
		}
		q.At, _ = r.positive(t, one.key, q.Of)
		return
	}
	line, hint := t.line, "launches race on: "+strings.Join(ids, ", ")
	if v := t.get("answer"); v != nil {
		line = v.line
		if near := nearestKey(q.Answer, ids); near != "" {
			hint = fmt.Sprintf("did you mean %q?", near)
		}
	}
	r.fail(line, hint, "launches cannot race on the answer %q", q.Answer)
}

func (r *reader) heatEntries(root *table, h *HeatFile) {
	list := r.tables(root, "entry", `[[entry]] and launch = "heron/launch.toml" below it`)
	if len(list) < 2 {
		r.fail(1, `write [[entry]] and launch = "heron/launch.toml" for each`, "a heat needs two entries or more; here are %d", len(list))
	}
	if len(list) > MostEntries {
		r.fail(list[MostEntries].line, "split it into several heats", "%d entries are too many for one heat; %d are the most", len(list), MostEntries)
	}
	seen, numbers := map[string]int{}, map[string]int{}
	for i, t := range list {
		e := r.heatEntry(h.Path, t)
		if e.Number == "" {
			e.Number = fmt.Sprint(i + 1)
		}
		if k, twice := numbers[e.Number]; twice {
			r.fail(t.line, "give each entry a number of its own", "entries %d and %d both carry number %s", k+1, i+1, e.Number)
		}
		numbers[e.Number] = i
		for _, key := range []string{filepath.Clean(e.Launch), fmt.Sprintf("%s\x00%d", filepath.Clean(e.Launch), e.Lane)} {
			if k, twice := seen[key]; twice && (e.Lane == 0 || h.Entries[k].Lane == 0 || h.Entries[k].Lane == e.Lane) {
				r.fail(t.line, "name each launch once, or a lane of its own for each of its vehicles", "entries %d and %d are the same launch, %s", k+1, i+1, e.Given)
			}
			seen[key] = i
		}
		h.Entries = append(h.Entries, e)
	}
}

func (r *reader) heatEntry(path string, t *table) HeatEntry {
	r.known(t, "[[entry]]", "launch", "lane", "number", "name", "conditions")
	e := HeatEntry{Given: r.text(t, "launch"), Name: r.text(t, "name"), Lane: r.whole(t, "lane", 0)}
	if e.Given == "" || strings.ContainsRune(e.Given, 0) {
		r.fail(t.line, `add launch = "heron/launch.toml"`, "an entry names no launch file")
	}
	e.Launch = resolve(path, e.Given)
	if v := t.get("lane"); v != nil && e.Lane < 1 {
		r.fail(v.line, "lanes count from 1, left to right", "lane = %d is not above zero", e.Lane)
	}
	if v := t.get("number"); v != nil {
		if v.kind != isText && v.kind != isNumber || v.text == "" {
			r.fail(v.line, `write number = 7 or number = "7b"`, "number is %s", v.kind)
		}
		e.Number = v.text
	}
	if s := r.section(t, "conditions"); s != nil {
		var l Launch
		r.conditions(s, &l)
		e.Conditions = l.Conditions
	}
	return e
}
