package scene

// shown is what the camera and the world are at one frame: the camera with its roll and zoom, by how much the picture is moved, and when.
type shown struct {
	*Camera
	dx, dy float64 // px
	t      float64 // s, the middle of the exposure at the middle of the picture
}

// at is what is shown in frame i.
func (s *Scene) at(i int) shown {
	dx, dy := s.shake(i)
	cam := &s.Camera
	return shown{s.cameraAt(i), dx, dy, s.Stamps[i] + cam.Exposure/2 + cam.Delay(float64(cam.Width)/2, float64(cam.Height)/2)}
}

// moves says whether what stands still is seen elsewhere from frame to frame.
func (s *Scene) moves() bool {
	return s.Camera.Shake > 0 || s.Camera.Sway != Sway{} || s.Backdrop.Breeze > 0 || s.Backdrop.Drift != 0 || len(s.Passers) > 0 || len(s.Flags) > 0
}

// sideways says whether columns, not rows, are exposed one after the other.
func (s *Scene) sideways() bool { return s.Camera.RowTime != 0 && s.Camera.Readout.sideways() }
