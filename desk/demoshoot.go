package desk

import (
	"fmt"
	"path/filepath"
)

// shoot leaves a shoot to be planned for the club day after: would a hired camera and a phone answer what is asked of a launch like the one told whole?
func (d *demoDay) shoot() error {
	text := shootText("Next club day", "hired high-speed camera", `{ width = 1920, height = 570, rate = "1884 Hz" }`,
		fmt.Sprintf("launch = \"../../launches/%s/launch.toml\"", d.club.Fills[d.club.Entry].Name))
	name, err := d.desk.NewShoot(text)
	if err != nil {
		return err
	}
	d.say("A shoot to come lies there too: padside plan %s\n", filepath.Join(d.Dir, "shoots", name, "shoot.toml"))
	return nil
}
