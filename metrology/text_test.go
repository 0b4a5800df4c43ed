package metrology

import (
	"encoding/json"
	"testing"

	"padside/units"
)

func answer(value, u, lo, hi float64) Answer {
	return Answer{ID: "time_to_speed", Unit: "s", Status: Measured, Value: &value, U: &u, Interval: &[2]float64{lo, hi}}
}

func TestAnswerText(t *testing.T) {
	t.Parallel()
	ms, _ := units.Lookup("ms", units.Time)
	celsius, _ := units.Lookup("degC", units.Temperature)
	for _, c := range []struct {
		a    Answer
		unit units.Unit
		want string
	}{
		{answer(0.0517963, 0.0002, 0.0514023, 0.0521903), ms, "51.80 ms ± 0.39 ms"},
		{answer(0.0517963, 0.0002, 0.0513, 0.0529), ms, "51.80 ms (51.30 to 52.90 ms)"},
		{answer(291.15, 1, 289.19, 293.11), celsius, "18.0 degC ± 2.0 degC"},
		{answer(2, 0, 2, 2), units.SI(units.Time), "2 s"},
		{WithoutValue(answer(1, 1, 0, 2), NotReached, "60 mph was not reached in view"), ms, "60 mph was not reached in view"},
		{Answer{Status: Insufficient}, ms, "insufficient"},
	} {
		if got := c.a.Text(c.unit, Digits); got != c.want {
			t.Errorf("Text = %q, want %q", got, c.want)
		}
	}
}

// TestAnswerJSON holds the contract's shape: no value, no interval keys; extra keys by name.
func TestAnswerJSON(t *testing.T) {
	t.Parallel()
	speed := 26.8224
	a := answer(0.5, 0.125, 0.25, 0.75)
	a.Lane, a.Speed, a.Budget = 1, &speed, []Share{{"trace noise", 0.75}}
	for _, c := range []struct {
		a    Answer
		want string
	}{
		{a, `{"id":"time_to_speed","lane":1,"speed":26.8224,"unit":"s","status":"measured","value":0.5,` +
			`"standard_uncertainty":0.125,"interval95":[0.25,0.75],"budget":[{"source":"trace noise","share":0.75}]}`},
		{WithoutValue(a, NotReached, "too slow"), `{"id":"time_to_speed","lane":1,"speed":26.8224,"unit":"s","status":"not-reached","reason":"too slow"}`},
	} {
		got, err := json.Marshal(c.a)
		if err != nil || string(got) != c.want {
			t.Errorf("json = %s, %v\nwant   %s", got, err, c.want)
		}
	}
}
