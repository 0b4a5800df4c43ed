package scene

import (
	"math"
	"math/rand/v2"

	"gonum.org/v1/gonum/stat/distuv"
)

// Sensor turns light into numbers.
type Sensor struct {
	Depth     int     // bits per sample: 8, 12 or 16; 0: 8
	FullWell  float64 // electrons at white; shot noise is the square root of the electrons; 0: no shot noise
	ReadNoise float64 // electrons; with FullWell 0: grey levels of Depth
	Gamma     float64 // numbers go as light^(1/Gamma); 0: 1 (linear)
	Mono      bool    // one channel
}

// toneSteps is the size of the table that turns light into numbers. Between its steps the curve is straight, which is within
// a hundredth of a number of 8 bits from a thousandth of white on; so small, it stays in the processor's nearest cache.
const toneSteps = 1 << 12

// normals is how many quantiles of the normal distribution noise is drawn from: four draws
// to 64 random bits. The outermost is at 3.7 standard deviations.
const normals = 1 << 12

// sensor is Sensor worked out once. It is for reading only.
type sensor struct {
	Sensor
	top    float64   // the largest number
	tone   []float32 // number for light i/toneSteps, not rounded
	normal []float32 // quantiles of the standard normal distribution, for noise
	a, b   float32   // variance of light = a*light + b

	// Of noisy numbers of 8 bits: the number for light by its first bits, and the standard deviation of light by fewer.
	number8 []uint8
	spread  []float32
}

// The sizes of the two tables. A number changes at most half a step of light from where it should, a twentieth of a number at a
// thousandth of white and far below the noise there; the standard deviation is good to a part in a thousand.
const (
	steps8      = 1 << 15
	spreadSteps = 1 << 10
)

func newSensor(s Sensor) *sensor {
	if s.Depth == 0 {
		s.Depth = 8
	}
	if s.Gamma == 0 {
		s.Gamma = 1
	}
	t := &sensor{Sensor: s, top: float64(int(1)<<s.Depth - 1)}
	t.tone = make([]float32, toneSteps+2)
	for i := range t.tone {
		t.tone[i] = float32(t.top * math.Pow(min(1, float64(i)/toneSteps), 1/s.Gamma))
	}
	switch {
	case s.FullWell > 0:
		t.a, t.b = float32(1/s.FullWell), float32(s.ReadNoise*s.ReadNoise/(s.FullWell*s.FullWell))
	default:
		t.b = float32(s.ReadNoise * s.ReadNoise / (t.top * t.top))
	}
	if t.a > 0 || t.b > 0 {
		t.normal = make([]float32, normals)
		for i := range t.normal {
			t.normal[i] = float32(distuv.UnitNormal.Quantile((float64(i) + 0.5) / float64(len(t.normal))))
		}
	}
	if t.normal != nil && s.Depth == 8 {
		t.tabulate()
	}
	return t
}

// tabulate fills the tables of noisy numbers of 8 bits.
func (t *sensor) tabulate() {
	t.number8, t.spread = make([]uint8, steps8), make([]float32, spreadSteps)
	for i := range t.number8 {
		t.number8[i] = uint8(t.number((float32(i) + 0.5) / steps8))
	}
	for i := range t.spread {
		t.spread[i] = float32(math.Sqrt(float64((float32(i)+0.5)/spreadSteps*t.a + t.b)))
	}
}

// noisy8 turns light into noisy numbers of 8 bits by the tables.
func (t *sensor) noisy8(light []float32, pcg *rand.PCG, numbers []uint8) {
	normal, spread, number := (*[normals]float32)(t.normal), (*[spreadSteps]float32)(t.spread), (*[steps8]uint8)(t.number8)
	var bits uint64
	for i, v := range light {
		if i&3 == 0 {
			bits = pcg.Uint64()
		}
		at := min(uint32(max(0, int32(v*spreadSteps))), spreadSteps-1)
		v += normal[bits&(normals-1)] * spread[at]
		bits >>= 16
		numbers[i] = number[min(uint32(max(0, int32(v*steps8))), steps8-1)]
	}
}

// expose turns a plane of light into numbers; noise is drawn from the seeds alone.
func expose[T uint8 | uint16](t *sensor, light []float32, seed, frame uint64, numbers []T) {
	pcg := rand.NewPCG(seed, frame)
	if out, ok := any(numbers).([]uint8); ok && t.number8 != nil {
		t.noisy8(light, pcg, out)
		return
	}
	var bits uint64
	for i, v := range light {
		if t.normal != nil {
			if i&3 == 0 {
				bits = pcg.Uint64()
			}
			n := t.normal[bits&(normals-1)]
			bits >>= 16
			v += n * float32(math.Sqrt(float64(max(0, v)*t.a+t.b)))
		}
		numbers[i] = T(t.number(v))
	}
}

// number is the rounded number for light v.
func (t *sensor) number(v float32) uint32 {
	if v <= 0 {
		return 0
	}
	if v >= 1 {
		return uint32(t.top)
	}
	x := v * toneSteps
	i := int(x)
	n := t.tone[i] + (x-float32(i))*(t.tone[i+1]-t.tone[i])
	return uint32(n + 0.5)
}
