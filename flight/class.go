package flight

import (
	"math"
	"strconv"
	"strings"
)

// MotorClass reads the code of a solid motor, such as "C6" or "H128-7": its letter gives the range of total impulse, the
// number the mean thrust, what follows a dash is the delay and is left out. Total impulse runs from the upper end of the class
// below to 2.5 2^n N s, with n = 0 for A; "1/2A" and "1/4A" end at 1.25 and 0.625 N s (as the hobby's associations print it after NFPA 1125; the standard
// itself was not read). Impulse in N s, thrust in N.
func MotorClass(code string) (least, most, thrust float64, ok bool) {
	code, _, _ = strings.Cut(strings.TrimSpace(code), "-")
	code = strings.ToUpper(code)
	n := 0.0
	switch {
	case strings.HasPrefix(code, "1/4A"):
		n, code = -2, code[len("1/4A"):]
	case strings.HasPrefix(code, "1/2A"):
		n, code = -1, code[len("1/2A"):]
	case code != "" && code[0] >= 'A' && code[0] <= 'O':
		n, code = float64(code[0]-'A'), code[1:]
	default:
		return 0, 0, 0, false
	}
	thrust, err := strconv.ParseFloat(code, 64)
	if err != nil || !(thrust > 0) || math.IsInf(thrust, 0) {
		return 0, 0, 0, false
	}
	most = 2.5 * math.Pow(2, n)
	return most / 2, most, thrust, true
}

// HighPower says whether a motor counts as high power: total impulse above 160 N s, mean thrust above 80 N, or more than 125 g of
// propellant. The limits are the trade's (as several public texts quote them); local law decides.
func HighPower(impulse, meanThrust, propellant float64) bool {
	return impulse > 160 || meanThrust > 80 || propellant > 0.125
}
