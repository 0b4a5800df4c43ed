package logbook

import (
	"math"
	"math/big"
	"path/filepath"
	"reflect"
	"testing"
)

// rounding is units.Print's promise, two units in the last place, relative.
const rounding = 5e-16

// same compares values of any kind, floats to within rounding.
func same(a, b reflect.Value) bool {
	if x, ok := a.Interface().(*big.Rat); ok {
		y := b.Interface().(*big.Rat)
		return x == nil && y == nil || x != nil && y != nil && x.Cmp(y) == 0
	}
	switch a.Kind() {
	case reflect.Float64:
		return math.Abs(a.Float()-b.Float()) <= rounding*math.Abs(a.Float())
	case reflect.Pointer:
		return a.IsNil() == b.IsNil() && (a.IsNil() || same(a.Elem(), b.Elem()))
	case reflect.Struct:
		for i := range a.NumField() {
			if !same(a.Field(i), b.Field(i)) {
				return false
			}
		}
		return true
	case reflect.Slice, reflect.Array:
		if a.Len() != b.Len() {
			return false
		}
		for i := range a.Len() {
			if !same(a.Index(i), b.Index(i)) {
				return false
			}
		}
		return true
	}
	return a.Interface() == b.Interface()
}

// TestFormatLaunch: what is written reads back as the same launch, for every kind of scale.
func TestFormatLaunch(t *testing.T) {
	t.Parallel()
	const lengthScale = `format = 1
title = "quotes \" and \\ and \u0007"
[conditions]
"odd key" = "kept"
[footage]
path = "IMG_*.jpg"
[footage.time]
basis = "list"
times = [0.0, 0.125, 0.25]
[scale]
kind = "length"
length = "1.20(1) m"
ends = [ { x = 500.0, y = 900.0 }, { x = 500.0, y = 600.0 } ]
lean = "1(3) deg"
[trace]
lanes = 2
follow = false
steady = [[1, 2, 3, 4], [5, 6, 7, 8]]
marks = [ { frame = 3, lane = 2, x = 1, y = 2.5 } ]
[questions]
gates = ["30 cm", "1 ft"]
drop_check = true
`
	const planeScale = `format = 1
[footage]
path = "a.mp4"
[scale]
kind = "plane"
points = [ { at = ["0 m", "0 m"], x = 1, y = 2, u = "1.5 px" }, { at = ["1 m", "0 m"], x = 100, y = 2 }, { at = ["0 m", "1 m"], x = 1, y = 200 }, { at = ["1 m", "1 m"], x = 100, y = 200 } ]
[camera]
k1 = -0.1
k2 = 1e-7
`
	const ballScale = `format = 1
[footage]
path = "a.mp4"
[scale]
kind = "rod"
on_flight_line = true
mark_uncertainty = "0 px"
marks = [ { at = "0.020(5) m", x = 70, y = 1657, u = "2 px", width = "20.7(7) px" }, { at = "2.3 m", x = 27, y = 73, u = "0 px", width = "24 px" } ]
[camera]
focal_length = "28(3) mm"
pixel_pitch = "18.75(0) um"
tilt = "-10(3) deg"
`
	for name, text := range map[string]string{"rod": full, "length": lengthScale, "plane": planeScale, "marks on the flight line": ballScale} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			path := filepath.Join("x", "launch.toml")
			want, err := ParseLaunch([]byte(text), path)
			if err != nil {
				t.Fatal(err)
			}
			written, err := FormatLaunch(want)
			if err != nil {
				t.Fatal(err)
			}
			got, err := ParseLaunch(written, path)
			if err != nil {
				t.Fatalf("%v in\n%s", err, written)
			}
			a, b := reflect.ValueOf(*want), reflect.ValueOf(*got)
			for i := range a.NumField() {
				if !same(a.Field(i), b.Field(i)) {
					t.Errorf("%s = %+v, want %+v, from\n%s", a.Type().Field(i).Name, b.Field(i), a.Field(i), written)
				}
			}
		})
	}
}
