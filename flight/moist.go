package flight

import "math"

// MoistExponent is the exponent of P V^n at the beginning of the expansion of air saturated with water vapour at an absolute pressure
// (Pa) and temperature (K): the vapour condenses as the gas cools and its heat keeps the pressure up. With x moles of vapour per
// mole of dry air and l = L/(R T), the heat capacity of the condensed water left out,
//
//	x = ps/(P - ps),  k = (1 + x l)/(5/2 + 3 x + x (l-1)^2),  n = (1 + k + x l k)/(1 + x)
//
// A moist adiabat, derived (unpublished); dry air gives 7/5. That vapour condenses in such bottles, and that the exponent depends on the
// state at the start: C. J. Gommes, Am. J. Phys. 78 (2010) 236; A. Romanelli et al., Am. J. Phys. 81 (2013) 762. A thrust stand found 1.1
// (Thorncroft et al., Int. J. Mech. Eng. Educ. 37 (2009) 241). ok is false where the water would boil.
func MoistExponent(pressure, temperature float64) (n float64, ok bool) {
	ps := saturation(temperature)
	if !(ps > 0 && ps < pressure/2) {
		return 0, false
	}
	x := ps / (pressure - ps)
	// Latent heat of water, J/mol: 2.501 MJ/kg at 0 degrees Celsius, 2.36 kJ/kg less with each kelvin (meteorological practice).
	l := (2.501e6 - 2.36e3*(temperature-273.15)) * 0.018015 / (gasConstant * temperature)
	k := (1 + x*l) / (2.5 + 3*x + x*(l-1)*(l-1))
	return (1 + k + x*l*k) / (1 + x), true
}

// saturation is the vapour pressure over water, Pa: Magnus' formula with the coefficients of O. A. Alduchov, R. E. Eskridge, J. Appl.
// Meteorol. 35 (1996) 601, within 0.4 % from -40 to 50 degrees Celsius.
func saturation(temperature float64) float64 {
	c := temperature - 273.15
	return 610.94 * math.Exp(17.625*c/(243.04+c))
}
