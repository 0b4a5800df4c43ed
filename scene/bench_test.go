package scene

import "testing"

// BenchmarkFrame draws frames of the presets, the backdrop drawn before the clock starts.
func BenchmarkFrame(b *testing.B) {
	for _, c := range []struct {
		name string
		take *Take
	}{
		{"bottle", BottleRocket(1, BottleOptions{})}, {"motor", MotorRocket(1)},
		{"phone", PhoneClip30(1)}, {"burst", StillsBurst(1)},
	} {
		b.Run(c.name, func(b *testing.B) {
			s := c.take.Scene
			s.Frame(0)
			n := 0
			for b.Loop() {
				s.Frame(n % s.Frames())
				n++
			}
		})
	}
}
