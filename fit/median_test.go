package fit

import "testing"

func TestMedianAndMAD(t *testing.T) {
	t.Parallel()
	x := []float64{9, 1, 8, 2, 1000}
	if got := Median(x); got != 8 {
		t.Errorf("Median(%v) = %v, want 8", x, got)
	}
	if got := Median(x[:4]); got != 5 {
		t.Errorf("Median(%v) = %v, want 5", x[:4], got)
	}
	// |x - 8| = 1 7 0 6 992: the middle is 6.
	if m, sd := MAD(x); m != 8 || sd != 6*madToSD {
		t.Errorf("MAD(%v) = %v, %v, want 8, %v", x, m, sd, 6*madToSD)
	}
	if x[0] != 9 {
		t.Error("Median sorted its argument")
	}
}
