package desk

import "testing"

func TestMembersStopsAtTheLastWanted(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name, text string
		of         string
		fails      bool
	}{
		{"first", `{"of":"a","rest":[`, "a", false}, // what comes after is not looked at
		{"after others", `{"times":[1,2,{"of":"no"}],"of":"b"}`, "b", false},
		{"missing", `{"times":[]}`, "", true},
		{"no object", `[1]`, "", true},
		{"cut off", `{"times":[1,`, "", true},
		{"empty", ``, "", true},
		{"wrong kind", `{"of":3}`, "", true},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			var of string
			err := members([]byte(c.text), map[string]any{"of": &of}, nil)
			if of != c.of || (err != nil) != c.fails {
				t.Errorf("members(%s) = %q, %v; want %q, fails %v", c.text, of, err, c.of, c.fails)
			}
		})
	}
}
