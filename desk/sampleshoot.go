package desk

// SampleShoot is a shoot file to begin with.
const SampleShoot = `format = 1
title = "Club day"

[[camera]]
name = "high-speed camera"
pixel_pitch = "6.6 um"
modes = [ { width = 1920, height = 1080, rate = "1000 Hz" } ]
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

[motion]              # or flight = "../../flights/NAME.toml", or launch = "../../launches/NAME/launch.toml"
acceleration = "400 m/s2"
top_speed = "32 m/s"
vehicle_length = "0.45 m"

[[question]]
answer = "time_to_speed"
speed = "60 mph"
within = "2 %"

[[question]]
answer = "gate_speed"
height = "1.4 m"
within = "2 %"
`
