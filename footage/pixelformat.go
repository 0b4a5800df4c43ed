package footage

import (
	"regexp"
	"strconv"
	"strings"
)

// lumaPath is how the luma of one of ffmpeg's pixel formats is had.
type lumaPath struct {
	filters []string // in front of orientation
	depth   int      // bits per sample; above 8, samples are 16-bit little-endian
	derived bool     // the format has no luma of its own: it is computed from RGB
}

// planarLuma matches the pixel formats whose luma is a plane by itself (or every other byte
// of ya8), for which extractplanes copies the coded samples. format=gray is not the same:
// it stretches limited range to full and changes nearly every pixel.
var planarLuma = regexp.MustCompile(`^(?:yuvj?a?4\d\dp|yuva4\d\dp|gray|ya)(\d+)?(le|be)?$`)

// repacked are formats whose luma is woven in with the chroma; taking them apart into the
// planar format named beside each moves samples and changes none.
var repacked = map[string]string{
	"nv12": "yuv420p", "nv21": "yuv420p", "nv16": "yuv422p",
	"yuyv422": "yuv422p", "uyvy422": "yuv422p", "yvyu422": "yuv422p",
	"p010le": "yuv420p10le",
}

// deepRGB matches the pixel formats of more than 8 bits per colour.
var deepRGB = regexp.MustCompile(`48|64|gbra?p(9|1\d|f32)|x2rgb10|x2bgr10|f32|f16|xyz12`)

// luma601 turns RGB into the luma of ITU-R BT.601, full range, as JPEG files hold it.
const luma601 = "scale=out_color_matrix=bt601:out_range=pc:flags=accurate_rnd+bitexact+full_chroma_int"

// lumaOf returns how to get at the luma of a pixel format by ffmpeg's name.
func lumaOf(format string) lumaPath {
	var first []string
	name := format
	if planar, ok := repacked[name]; ok {
		name, first = planar, []string{"format=" + planar}
	}
	m := planarLuma.FindStringSubmatch(name)
	if m == nil {
		if deepRGB.MatchString(format) {
			return lumaPath{[]string{luma601, "format=gray16le"}, 16, true}
		}
		return lumaPath{[]string{luma601, "format=gray"}, 8, true}
	}
	depth := 8
	if m[1] != "" {
		depth, _ = strconv.Atoi(m[1]) // digits
	}
	if m[2] == "be" { // the same samples, bytes swapped
		first = []string{"format=" + strings.TrimSuffix(name, "be") + "le"}
	}
	return lumaPath{append(first, "extractplanes=y"), depth, false}
}
