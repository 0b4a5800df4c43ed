package desk

import (
	"bytes"
	"strings"
	"testing"
)

// TestExplainImpossible: with twice the dry mass no possible flight comes near. The sheet says what the one that does has, holds no value of the
// model's, and shows what is left over.
func TestExplainImpossible(t *testing.T) {
	t.Parallel()
	s, err := explainPlover(t, "121.0(7) g", "243.0(7) g")
	if err != nil {
		t.Fatal(err)
	}
	if s.Test.Fits || s.Impossible == "" {
		t.Fatalf("fits %v, impossible %q", s.Test.Fits, s.Impossible)
	}
	for _, a := range s.Answers {
		if a.Value != nil || a.Interval != nil {
			t.Errorf("%s has the value %v", a.ID, *a.Value)
		}
	}
	if len(s.Answers) < 2 || len(s.Residuals) < 60 || len(s.History) == 0 || len(s.Measured) == 0 {
		t.Errorf("%d answers, %d residuals, %d states, %d measured", len(s.Answers), len(s.Residuals), len(s.History), len(s.Measured))
	}
	if _, err := s.JSON(); err != nil {
		t.Error(err)
	}
	var text bytes.Buffer
	if err := s.Text(&text); err != nil || !strings.Contains(text.String(), s.Impossible) {
		t.Errorf("the text (%v) does not say %q:\n%s", err, s.Impossible, &text)
	}
	t.Logf("%s\n%s", s.Impossible, &text)
}
