package scene

// shown is what the camera and the world are at one frame: the camera with its roll and zoom, how the hand moves the picture, and when.
type shown struct {
	*Camera
	*movement
	t float64 // s, the middle of the exposure at the middle of the picture
}

// at is what is shown in frame i.
func (s *Scene) at(i int) shown {
	cam := &s.Camera
	m := s.movement(i)
	m.ready()
	return shown{s.cameraAt(i), m, s.Stamps[i] + cam.Exposure/2 + cam.Delay(float64(cam.Width)/2, float64(cam.Height)/2)}
}

// moves says whether what stands still is seen elsewhere from frame to frame.
func (s *Scene) moves() bool {
	return s.Camera.Shake > 0 || s.Camera.Sway != Sway{} || s.Backdrop.Breeze > 0 || s.Backdrop.Drift != 0 || len(s.Passers) > 0 || len(s.Flags) > 0
}

// sideways says whether columns, not rows, are exposed one after the other.
func (s *Scene) sideways() bool { return s.Camera.RowTime != 0 && s.Camera.Readout.sideways() }
