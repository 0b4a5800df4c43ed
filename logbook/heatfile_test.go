package logbook

import (
	"errors"
	"math"
	"path/filepath"
	"strings"
	"testing"

	"padside/fault"
	"padside/units"
)

const wholeHeat = `format = 1
title = "Spring heat"
date = 2026-05-16

[question]
answer = "time_to_speed"
speed = "60 mph"

[rules]
water = { same = true, within = "10 mL" }
pressure = { is = "5.2 bar", within = "2 %" }
dry_mass = { least = "100 g", most = "150 g" }
air_temperature = { is = "18 degC", within = "5 degC" }
class = "two litres"
nose = { same = true }
fin_span = { most = "80 mm" }

[[entry]]
launch = "../heron/launch.toml"
number = 7
name = "The tall one"

[[entry]]
launch = "../pair/launch.toml"
lane = 1
conditions = { water = "350(5) mL" }

[[entry]]
launch = "../pair/launch.toml"
lane = 2
number = "12b"
`

func TestParseHeat(t *testing.T) {
	t.Parallel()
	h, err := ParseHeat([]byte(wholeHeat), filepath.Join("day", "heats", "heat.toml"))
	if err != nil {
		t.Fatal(err)
	}
	if h.Title != "Spring heat" || h.Date != "2026-05-16" || h.Question.Answer != "time_to_speed" || math.Abs(h.Question.At.Value-26.8224) > 1e-9 || h.Question.At.Unit != "mph" {
		t.Errorf("read %+v", h)
	}
	if len(h.Rules) != 7 || len(h.Entries) != 3 {
		t.Fatalf("%d rules and %d entries, want 7 and 3", len(h.Rules), len(h.Entries))
	}
	water, pressure, warm, class, span := h.Rules[0], h.Rules[1], h.Rules[3], h.Rules[4], h.Rules[6]
	if !water.Same || math.Abs(water.Within.Half(1)-1e-5) > 1e-15 {
		t.Errorf("water: %+v", water)
	}
	if got := pressure.Within.Half(pressure.Is.Value); math.Abs(got-0.02*5.2e5) > 1e-6 {
		t.Errorf("2 %% of 5.2 bar is %g Pa", got)
	}
	if got := warm.Within.Half(warm.Is.Value); math.Abs(got-5) > 1e-9 { // a difference of 5 degC is 5 K, not 278 K
		t.Errorf("within 5 degC is %g K", got)
	}
	if class.Words != "two litres" || class.Dimension != 0 || span.Dimension != units.Length || math.Abs(span.Most.Value-0.08) > 1e-12 {
		t.Errorf("class %+v, span %+v", class, span)
	}
	if h.Entries[0].Number != "7" || h.Entries[1].Number != "2" || h.Entries[2].Number != "12b" || h.Entries[2].Lane != 2 {
		t.Errorf("entries: %+v", h.Entries)
	}
	if want := filepath.Join("day", "heron", "launch.toml"); h.Entries[0].Launch != want {
		t.Errorf("launch %q, want %q", h.Entries[0].Launch, want)
	}
	if c := h.Entries[1].Conditions; len(c) != 1 || math.Abs(c[0].Quantity.U-5e-6) > 1e-15 {
		t.Errorf("own conditions: %+v", c)
	}
}

func TestParseHeatRefuses(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct{ from, to, says, hint string }{
		"unknown key":         {"title =", "titel =", `:2: unknown key "titel"`, `"title"`},
		"unknown entry key":   {"number = 7", "numbr = 7", `numbr`, `"number"`},
		"unknown rule key":    {`most = "150 g"`, `moist = "150 g"`, "moist", `"most"`},
		"no such answer":      {`"time_to_speed"`, `"time_to_sped"`, `:6: `, `"time_to_speed"`},
		"speed missing":       {"speed = \"60 mph\"\n", "", "needs its speed", "60 mph"},
		"height for a speed":  {`speed = "60 mph"`, "speed = \"60 mph\"\nheight = \"2 m\"", "does not belong", "leave it out"},
		"no unit":             {`"60 mph"`, `"60"`, "speed", "mph"},
		"wrong unit":          {`within = "10 mL"`, `within = "10 bar"`, "the rule water, within", "mL"},
		"no tolerance":        {`{ same = true, within = "10 mL" }`, `{ same = true }`, "how far off", "within"},
		"tolerance of what":   {`{ same = true, within = "10 mL" }`, `{ within = "10 mL" }`, "asks for nothing", "same = true"},
		"uncertain rule":      {`is = "5.2 bar"`, `is = "5.2(1) bar"`, "carries an uncertainty", "within"},
		"both":                {`{ is = "5.2 bar"`, `{ same = true, is = "5.2 bar"`, "both", "either"},
		"nothing asked":       {`{ same = true }`, `{ }`, "asks for nothing", "write"},
		"least above most":    {`least = "100 g"`, `least = "200 g"`, "above most", "lower"},
		"negative tolerance":  {`within = "10 mL"`, `within = "-10 mL"`, "no tolerance", "within"},
		"lane twice":          {"lane = 2", "lane = 1", "entries 2 and 3 are the same launch", "name each launch once"},
		"launch and its lane": {"lane = 2\n", "", "same launch", "name each launch once"},
		"number twice":        {`"12b"`, `"7"`, "number 7", "of its own"},
		"lane zero":           {"lane = 1", "lane = 0", "lane = 0", "from 1"},
		"no launch":           {"launch = \"../heron/launch.toml\"\n", "", "names no launch", "launch.toml"},
		"newer":               {"format = 1", "format = 2", "format 2", "newer"},
		"broken":              {"[rules]", "[rules", "not valid TOML", "key"},
		"a rule is a number":  {`{ is = "5.2 bar", within = "2 %" }`, "5", "the rule pressure", "same"},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			if !strings.Contains(wholeHeat, c.from) {
				t.Fatalf("the heat file holds no %q", c.from)
			}
			_, err := ParseHeat([]byte(strings.Replace(wholeHeat, c.from, c.to, 1)), "heat.toml")
			var f *fault.Error
			if !errors.As(err, &f) || f.Kind != fault.Request || !strings.Contains(f.Message, c.says) || !strings.Contains(f.Message, "heat.toml:") || !strings.Contains(f.Hint, c.hint) {
				t.Errorf("%v, hint %+v: want %q and a hint with %q", err, f, c.says, c.hint)
			}
		})
	}
	one := wholeHeat[:strings.Index(wholeHeat, "\n[[entry]]\nlaunch = \"../pair")]
	if _, err := ParseHeat([]byte(one), "heat.toml"); err == nil || !strings.Contains(err.Error(), "two entries or more; here are 1") {
		t.Errorf("a heat of one gave %v", err)
	}
}

func FuzzParseHeat(f *testing.F) {
	f.Add([]byte(wholeHeat))
	f.Add([]byte("format = 1\n[question]\nanswer = \"peak_speed\"\n[[entry]]\nlaunch = \"a\"\n[[entry]]\nlaunch = \"b\"\n"))
	f.Add([]byte("format = 1\n[rules]\na = []\nb = { is = 1 }\n[[entry]]\n[entry.conditions]\nx = {}\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		h, err := ParseHeat(data, "heat.toml")
		var fe *fault.Error
		if err != nil && (!errors.As(err, &fe) || fe.Hint == "") {
			t.Errorf("an error without a hint: %v", err)
		}
		if err == nil && len(h.Entries) < 2 {
			t.Error("a heat of fewer than two")
		}
	})
}
