package motion

// remedies says for each source of an interval what would make it smaller. The sources are those of package camera, and this package's own.
var remedies = map[string]string{
	"trace noise":        "more light, a shorter exposure, a larger image of the vehicle or a higher frame rate",
	"scale marks":        "place more marks, farther apart, each under the loupe",
	"reference length":   "measure the reference again, or use a longer one",
	"camera distance":    "measure the distances from camera to rod and to flight line to 1 cm, or stand farther away",
	"lean of the flight": "state how far the flight leaned (a second view, or a rail held upright), or film from farther away",
	"camera tilt":        "measure the camera's tilt, or set it level",
	"apparent size":      "state how far the flight leaned (a second view, or a rail held upright)",
	"lens":               "state focal length and pixel pitch with their uncertainty, or mark the rod at three or more places",
	"time base":          "state the camera's true rate with its uncertainty",
	SourceShutter:        "state the shutter and its delay per row, or turn the camera so that the long side of its picture stands upright",
	SourceExposure:       "state the exposure",
	"frame times":        "state the times of the pictures more closely, or film with a camera whose stamps are finer",
}

// Remedy says what would make an interval smaller that owes most to a source of its budget; empty where nothing is known to.
func Remedy(source string) string { return remedies[source] }
