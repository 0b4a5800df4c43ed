package desk

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strconv"
	"strings"

	"padside/fault"
	"padside/logbook"
)

// Change is one edit of a launch. Do says which, and which of the other fields count:
//
//	"mark"      Lane, Frame, X, Y   where the vehicle is in a frame, placed by hand: px, in the frame as filmed
//	"unmark"    Lane, Frame
//	"ask"       Speeds, Gates       instead of those asked before, as a person writes them: "60 mph", "0.5 m"
//	"describe"  Values              title, vehicle, date; conditions as a table
//	"follow"    Values              frame and box of [trace], lanes; null takes a key away
//	"scale", "time", "camera"       Values: the whole section [scale], [footage.time] or [camera] as in the launch file
type Change struct {
	Do     string         `json:"do"`
	Lane   int            `json:"lane"`
	Frame  int            `json:"frame"`
	X      float64        `json:"x"`
	Y      float64        `json:"y"`
	Speeds []string       `json:"speeds"`
	Gates  []string       `json:"gates"`
	Values map[string]any `json:"values"`
}

// what says the change in words, for the history.
func (c Change) what() string {
	switch c.Do {
	case "mark":
		return fmt.Sprintf("marked the vehicle in frame %d", c.Frame)
	case "unmark":
		return fmt.Sprintf("took away the mark in frame %d", c.Frame)
	case "ask":
		return "asked for other speeds and gates"
	case "describe":
		return "described the launch"
	case "follow":
		return "said what to follow"
	case "scale":
		return "changed the scale"
	case "time":
		return "changed the time base"
	case "camera":
		return "changed the camera"
	}
	return c.Do
}

// whatAll says several changes.
func whatAll(list []Change) string {
	var words []string
	for _, c := range list {
		if w := c.what(); !slices.Contains(words, w) {
			words = append(words, w)
		}
	}
	return strings.Join(words, ", ")
}

// edits turns changes into edits of the launch file's text.
func edits(text []byte, path string, list []Change) ([]byte, error) {
	if len(list) == 0 {
		return nil, fault.Requestf("send at least one change", "nothing was changed")
	}
	for _, c := range list {
		var err error
		if text, err = c.edit(text, path); err != nil {
			return nil, err
		}
	}
	if _, err := logbook.ParseDraft(text, path); err != nil {
		return nil, err
	}
	return text, nil
}

// edit applies one change to the text of a launch file.
func (c Change) edit(text []byte, path string) ([]byte, error) {
	switch c.Do {
	case "mark", "unmark":
		return c.editMarks(text, path)
	case "ask":
		text, err := logbook.SetKey(text, "questions", "speeds", tomlList(c.Speeds))
		if err != nil {
			return nil, err
		}
		return logbook.SetKey(text, "questions", "gates", tomlList(c.Gates))
	case "describe":
		return c.describe(text)
	case "follow":
		return setKeys(text, "trace", c.Values)
	case "scale", "camera":
		return setSection(text, c.Do, c.Values)
	case "time":
		return setSection(text, "footage.time", c.Values)
	}
	return nil, fault.Requestf("changes are mark, unmark, ask, describe, follow, scale, time, camera", "%q is no change of a launch", c.Do)
}

// editMarks sets or takes away the mark of a lane in a frame.
func (c Change) editMarks(text []byte, path string) ([]byte, error) {
	l, err := logbook.ParseDraft(text, path)
	if err != nil {
		return nil, err
	}
	lane := max(1, c.Lane)
	marks := slices.DeleteFunc(l.Trace.Marks, func(m logbook.HandMark) bool { return m.Frame == c.Frame && max(1, m.Lane) == lane })
	if c.Do == "mark" {
		if !finite(c.X, c.Y) || c.Frame < 0 {
			return nil, fault.Requestf("give frame, x and y", "a mark at (%g, %g) in frame %d", c.X, c.Y, c.Frame)
		}
		marks = append(marks, logbook.HandMark{Frame: c.Frame, Lane: lane, X: math.Round(c.X*1000) / 1000, Y: math.Round(c.Y*1000) / 1000})
		slices.SortFunc(marks, func(a, b logbook.HandMark) int { return a.Frame - b.Frame })
	}
	rows := make([]any, 0, len(marks))
	for _, m := range marks {
		row := map[string]any{"frame": float64(m.Frame), "x": m.X, "y": m.Y}
		if m.Lane > 1 {
			row["lane"] = float64(m.Lane)
		}
		if m.U > 0 {
			row["u"] = fmt.Sprintf("%g px", m.U)
		}
		rows = append(rows, row)
	}
	if len(rows) == 0 {
		return logbook.SetKey(text, "trace", "marks", "")
	}
	value, err := tomlText(rows)
	if err != nil {
		return nil, err
	}
	return logbook.SetKey(text, "trace", "marks", value)
}

// describe sets what the launch is called and how it was flown.
func (c Change) describe(text []byte) ([]byte, error) {
	var err error
	for _, key := range slices.Sorted(maps.Keys(c.Values)) {
		switch key {
		case "title", "vehicle", "kind", "date", "setup":
			s, ok := c.Values[key].(string)
			if !ok {
				return nil, fault.Requestf("give text", "%s is no text", key)
			}
			value := "" // empty text takes the key away
			if s != "" {
				value = logbook.Quote(s)
			}
			if text, err = logbook.SetKey(text, "", key, value); err != nil {
				return nil, err
			}
		case "conditions":
			table, ok := c.Values[key].(map[string]any)
			if !ok {
				return nil, fault.Requestf("give a table of keys and texts", "conditions is no table")
			}
			if text, err = setSection(text, "conditions", table); err != nil {
				return nil, err
			}
		default:
			return nil, fault.Requestf("title, vehicle, date, setup and conditions can be set", "%q describes no launch", key)
		}
	}
	return text, nil
}

// setKeys sets single keys of a section; null takes one away.
func setKeys(text []byte, section string, values map[string]any) ([]byte, error) {
	for _, key := range slices.Sorted(maps.Keys(values)) {
		value := ""
		if values[key] != nil {
			var err error
			if value, err = tomlText(values[key]); err != nil {
				return nil, err
			}
		}
		var err error
		if text, err = logbook.SetKey(text, section, key, value); err != nil {
			return nil, err
		}
	}
	return text, nil
}

// setSection gives a section these keys and no others.
func setSection(text []byte, section string, values map[string]any) ([]byte, error) {
	var lines []logbook.KeyValue
	for _, key := range slices.Sorted(maps.Keys(values)) {
		if values[key] == nil || values[key] == "" {
			continue // left out
		}
		value, err := tomlText(values[key])
		if err != nil {
			return nil, err
		}
		lines = append(lines, logbook.KeyValue{Key: key, Value: value})
	}
	return logbook.SetSection(text, section, lines)
}

// tomlText writes a value that came as JSON as TOML: text, numbers, truth values, lists and inline tables.
func tomlText(v any) (string, error) {
	switch v := v.(type) {
	case string:
		return logbook.Quote(v), nil
	case bool:
		return strconv.FormatBool(v), nil
	case float64:
		if !finite(v) {
			return "", fault.Requestf("give finite numbers", "%g is no number for a launch file", v)
		}
		return strconv.FormatFloat(v, 'f', -1, 64), nil
	case []any:
		var parts []string
		for _, e := range v {
			s, err := tomlText(e)
			if err != nil {
				return "", err
			}
			parts = append(parts, s)
		}
		if len(v) > 0 {
			if _, tables := v[0].(map[string]any); tables {
				return "[\n  " + strings.Join(parts, ",\n  ") + ",\n]", nil
			}
		}
		return "[" + strings.Join(parts, ", ") + "]", nil
	case map[string]any:
		var parts []string
		for _, key := range slices.Sorted(maps.Keys(v)) {
			s, err := tomlText(v[key])
			if err != nil {
				return "", err
			}
			parts = append(parts, logbook.Key(key)+" = "+s)
		}
		return "{ " + strings.Join(parts, ", ") + " }", nil
	}
	return "", fault.Requestf("text, numbers, lists and tables can be written", "%v cannot be written into a launch file", v)
}

// tomlList writes texts as a list.
func tomlList(list []string) string {
	parts := make([]string, len(list))
	for i, s := range list {
		parts[i] = logbook.Quote(s)
	}
	return "[" + strings.Join(parts, ", ") + "]"
}

func finite(list ...float64) bool {
	for _, v := range list {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return false
		}
	}
	return true
}
