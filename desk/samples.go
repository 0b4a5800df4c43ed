package desk

import "fmt"

// Files to begin with, as the commands print them with --sample. All in them is invented.

// SampleLaunch is a launch file to begin with.
const SampleLaunch = `format  = 1
title   = "Heron, 350 mL at 4.5 bar"
vehicle = "Heron"
date    = 2026-05-16

[conditions]                    # what comparisons, heats and flight models go by; leave out what you do not know
water = "350 mL"
pressure = "4.5 bar"
dry_mass = "142(1) g"

[footage]
path = "heron-350.mp4"          # a clip, a folder of stills, or "IMG_*.jpg"; from this file's folder

[footage.time]                  # padside inspect says what the clip knows; leave the section out where its stamps are true
basis = "rate"
rate = "1600 Hz"                # what the camera filmed at, not what it plays at
exposure = "1/8000 s"

[scale]
kind = "rod"                    # x to the right, y down, px; three marks or more show the perspective
marks = [
  { at = "0 m",   x = 512.0, y = 1012.0 },
  { at = "0.4 m", x = 511.2, y = 870.5 },
  { at = "0.8 m", x = 510.5, y = 729.8 },
]
rod_range = "8.00(2) m"         # camera to rod, and to flight line: 8.00 m, standard uncertainty 0.02 m
flight_range = "8.15(5) m"

[questions]
speeds = ["60 mph"]
gates = { every = "0.2 m", to = "2 m" }
`

// SampleHeat is a heat file to begin with.
const SampleHeat = `format = 1
title  = "Spring heat"
date   = 2026-05-16

[question]
answer = "time_to_speed"        # or "gate_crossing" with height = "2 m", "peak_speed", "peak_acceleration"
speed  = "60 mph"

[rules]                         # any key of [conditions]; leave out what is free
water    = { same = true, within = "10 mL" }
pressure = { is = "4.5 bar", within = "2 %" }

[[entry]]
launch = "heron/launch.toml"    # from this file's folder
number = 7

[[entry]]
launch = "kite/launch.toml"
number = 12
`

// SampleFlight is a flight file to begin with.
const SampleFlight = `format = 1
title = "Heron"
kind = "bottle"                 # or "motor": class = "C6", or thrust = "thrust.csv"; propellant_mass
volume = "1.25(1) L"
water = "350 mL"
pressure = "4.5(1) bar"         # above that of the air, as a gauge shows it
nozzle_diameter = "13.0(1) mm"
dry_mass = "142(1) g"
body_diameter = "84.3(5) mm"
drag_coefficient = "0.45(10)"

[site]
elevation = "40 m"
air_temperature = "15 degC"
`

// SampleShoot is a shoot file to begin with; the page for a new shoot begins with it too.
var SampleShoot = shootText("Club day", "high-speed camera", `{ width = 1920, height = 1080, rate = "1000 Hz" }`,
	`kind = "bottle" # or "motor", or "drop" with height = "2 m"
# how it moves; or flight = "../../flights/NAME.toml", or launch = "../../launches/NAME/launch.toml"
acceleration = "400 m/s2"
top_speed = "32 m/s"`)

// shootText is a shoot file in which a high-speed camera, called name, of one mode, and a phone are to film a bottle rocket of a given motion.
func shootText(title, name, mode, motion string) string {
	return fmt.Sprintf(`format = 1
title = %q

[[camera]]
name = %q
pixel_pitch = "6.6 um"
modes = [ %s ]
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
%s
vehicle_length = "0.45 m"

[[question]]
answer = "time_to_speed"
speed = "60 mph"
within = "2 %%"

[[question]]
answer = "gate_speed"
height = "1.4 m"
within = "2 %%"
`, title, name, mode, motion)
}
