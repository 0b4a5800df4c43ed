package scene

import (
	"fmt"
	"math"

	"padside/flight"
)

// ClubLaunch is one launch of a club day.
type ClubLaunch struct {
	Name   string // a folder's name
	Bottle *flight.Bottle
	Take   *Take
}

// Club is an invented club day: bottle rockets filmed from one place, so that they share a setup, and a motor
// rocket filmed from another.
type Club struct {
	Setup  string       // the name of the bottles' setup
	Fills  []ClubLaunch // one vehicle with five fills of water, least first
	Entry  int          // which of Fills races
	Rivals []ClubLaunch // three vehicles that race against it under the same rules
	Motor  ClubLaunch   // without Bottle

	place *Scene // the first of the bottles' scenes, whose backdrop they share
}

// clubBottle is the vehicle that flies with five fills: 1.25 L, 13 mm nozzle, 4.5 bar.
func clubBottle() flight.Bottle {
	return flight.Bottle{Volume: 1.25e-3, Water: 300e-6, Pressure: 4.5e5, NozzleDiameter: 13e-3, DryMass: 0.142, BodyDiameter: 0.084,
		DragCoefficient: 0.42, Exponent: 1.28, Discharge: 0.96, Site: flight.StandardSite()}
}

// ClubDay is the club day of the demo. The best of the five fills for the speed after 1.4 m lies inside
// their range; two of the four that race are so alike that the footage may not tell them apart.
func ClubDay() Club {
	club := Club{Setup: "north-mast", Entry: 2}
	for _, ml := range []float64{150, 225, 300, 350, 400} {
		club.Fills = append(club.Fills, club.Fill(ml*1e-6))
	}
	kite, wren, teal := clubBottle(), clubBottle(), clubBottle()
	kite.NozzleDiameter, kite.DryMass = 12e-3, 0.128
	wren.DryMass = 0.145
	teal.NozzleDiameter, teal.DryMass, teal.DragCoefficient = 15e-3, 0.155, 0.48
	club.Rivals = []ClubLaunch{
		club.launch("kite", "Kite", 22, 41, kite), club.launch("wren", "Wren", 23, 42, wren), club.launch("teal", "Teal", 24, 43, teal),
	}
	club.Motor = ClubLaunch{Name: "old-kettle", Take: MotorRocket(3)}
	return club
}

// Fill is the launch of the vehicle of Fills with any fill of water, m3.
func (c *Club) Fill(water float64) ClubLaunch {
	b := clubBottle()
	b.Water = water
	ml := math.Round(water * 1e6)
	l := c.launch(fmt.Sprintf("heron-%.0f", ml), "Heron", 21, 1000+uint64(ml), b)
	l.Take.Model = "heron"
	return l
}

func (c *Club) launch(folder, name string, look, seed uint64, b flight.Bottle) ClubLaunch {
	t := BottleRocket(seed, BottleOptions{Rate: 1000, Width: 320, Height: 960, SameSetup: true, SetupSeed: 12, Bottle: &b, Name: name, Look: look})
	t.Setup = c.Setup
	t.Gates = t.Gates[:7]
	t.Scene.Rod.Across = -0.33 // in the narrow picture
	if c.place == nil {
		c.place = t.Scene
	}
	t.Scene.like = c.place
	return ClubLaunch{Name: folder, Bottle: &b, Take: t}
}
