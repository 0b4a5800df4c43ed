package desk

import (
	"fmt"
	"path/filepath"
)

// nextShoot is a shoot file for the club day after: would a hired camera and a phone answer what is asked of a launch like this one?
const nextShoot = `format = 1
title = "Next club day"

[[camera]]
name = "hired high-speed camera"
pixel_pitch = "6.6 um"
modes = [ { width = 1920, height = 570, rate = "1884 Hz" } ]
exposure = { shortest = "5 us", longest = "1/100 s" }
iso = { lowest = 500, highest = 8000 }

[[camera]]
name = "phone"
pixel_pitch = "1.4 um"
modes = [ { width = 1280, height = 720, rate = "240 Hz" } ]
exposure = { shortest = "1/20000 s", longest = "1/240 s" }
lens = { focal_length = "4.3 mm", widest = 1.8 }

[lens]
focal_length = "25 mm"
widest = 1.4

[place]
range = "6.00(2) m"
height = "0.6 m"
rotated = true

[light]
ev100 = "bright overcast"

[reference]
kind = "rod"
length = "2 m"
marks = 6
range = "5.80(2) m"

[motion]
launch = "../../launches/%s/launch.toml"
vehicle_length = "0.45 m"

[[question]]
answer = "time_to_speed"
speed = "60 mph"
within = "2 %%"

[[question]]
answer = "gate_speed"
height = "1.4 m"
within = "2 %%"
`

// shoot leaves a shoot to be planned, whose motion is that of the launch told whole.
func (d *demoDay) shoot() error {
	name, err := d.desk.NewShoot(fmt.Sprintf(nextShoot, d.club.Fills[d.club.Entry].Name))
	if err != nil {
		return err
	}
	d.say("A shoot to come lies there too: padside plan %s\n", filepath.Join(d.Dir, "shoots", name, "shoot.toml"))
	return nil
}
