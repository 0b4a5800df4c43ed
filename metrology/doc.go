// Package metrology carries uncertainty: estimates and their propagation (GUM, JCGM
// 100:2008), joint seeded draws and their intervals (Supplement 1, JCGM 101:2008), budgets,
// variance within and between launches, and the one rule by which numbers are rounded for a
// reader.
//
// Values have whatever unit their caller uses, SI inside padside; an Estimate, its
// uncertainty and its interval always share it. Uncertainties are standard uncertainties
// unless a name says otherwise. Random numbers come from a source the caller seeds.
//
// The package knows no model of a launch and no picture; it does not fit (package fit does).
package metrology
