package desk

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"text/tabwriter"

	"padside/disk"
	"padside/fault"
	"padside/footage"
	"padside/logbook"
)

// VerifyOptions says what to verify. The zero value takes results where a logbook keeps them, beside the launch file.
type VerifyOptions struct {
	Options
	Results string // the folder that measure --out left, for one launch; empty: the launch's own
}

// VerifySheet says of launches whether their footage is still what was measured, by its digests.
type VerifySheet struct {
	Format   string           `json:"format"` // "padside-verify"
	Version  int              `json:"version"`
	Program  string           `json:"program"`
	Launches []VerifiedLaunch `json:"launches"`
}

// Verdict is what verifying found of a launch.
type Verdict string

// The verdicts.
const (
	VerifiedSame     Verdict = "same"         // the footage is what was measured
	VerifiedOther    Verdict = "changed"      // it is not
	VerifiedMissing  Verdict = "missing"      // there is none, or it cannot be read
	VerifiedDamaged  Verdict = "damaged"      // what was kept of the launch is
	VerifiedNothing  Verdict = "not-measured" // nothing was kept of it
	VerifiedNoLaunch Verdict = "unreadable"   // its launch file cannot be read
)

// VerifiedLaunch is one launch that was verified.
type VerifiedLaunch struct {
	Name     string   `json:"name"`
	Footage  string   `json:"footage"` // its path, as the launch file writes it
	Verdict  Verdict  `json:"verdict"`
	Measured string   `json:"measured_sha256"` // of the footage that the answers come from; empty where there are none
	Found    string   `json:"found_sha256"`    // of the footage that lies there; empty where there is none
	Differs  []string `json:"differs"`         // what differs, or is wrong, in words
}

// JSON returns the sheet with a final line break.
func (s *VerifySheet) JSON() ([]byte, error) { return indented(s) }

// Verify reads the footage of a launch, or of each launch of a logbook, and holds its digests against those of what was measured. It changes
// nothing and needs no lock: the logbook may be open elsewhere.
func Verify(ctx context.Context, path string, o VerifyOptions) (*VerifySheet, error) {
	files, err := launchFiles(path)
	if err != nil {
		return nil, err
	}
	if o.Results != "" && len(files) != 1 {
		return nil, fault.Requestf("name one launch file", "results in %s are those of one launch; %s holds %d", o.Results, path, len(files))
	}
	s := &VerifySheet{Format: "padside-verify", Version: 1, Program: Program, Launches: []VerifiedLaunch{}}
	for i, file := range files {
		o.progress("verify", i, len(files))
		dir := o.Results
		if dir == "" {
			dir = filepath.Dir(file)
		}
		v, err := verified(ctx, file, dir)
		if err != nil {
			return nil, err
		}
		s.Launches = append(s.Launches, v)
	}
	return s, nil
}

// launchFiles are the launch files that a path means: itself, that of a launch's folder, those of a logbook.
func launchFiles(path string) ([]string, error) {
	info, err := os.Stat(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, fault.Requestf("name a logbook's folder or a launch file", "there is no file or folder %s", path)
	}
	if err == nil && !info.IsDir() {
		return []string{path}, nil
	}
	if one := filepath.Join(path, logbook.LaunchName); exists(one) {
		return []string{one}, nil
	}
	entries, err := os.ReadDir(filepath.Join(path, logbook.LaunchesDir))
	if err != nil {
		return nil, fault.Requestf("name a logbook's folder or a launch file", "the folder %s is neither a logbook nor a launch", path)
	}
	files := []string{}
	for _, e := range entries {
		if one := filepath.Join(path, logbook.LaunchesDir, e.Name(), logbook.LaunchName); exists(one) {
			files = append(files, one)
		}
	}
	return files, nil
}

func exists(path string) bool {
	_, err := os.Stat(path)
	return err == nil
}

// verified verifies one launch whose results lie in a folder.
func verified(ctx context.Context, file, results string) (VerifiedLaunch, error) {
	v := VerifiedLaunch{Name: filepath.Base(file), Differs: []string{}}
	if where, err := filepath.Abs(file); err == nil && v.Name == logbook.LaunchName {
		v.Name = filepath.Base(filepath.Dir(where))
	}
	l, err := logbook.ReadLaunch(file)
	if err != nil {
		v.Verdict, v.Differs = VerifiedNoLaunch, append(v.Differs, err.Error())
		return v, nil
	}
	v.Footage = l.Footage.Given
	was, err := measuredIn(v.Name, results)
	switch {
	case err != nil:
		v.Verdict, v.Differs = VerifiedDamaged, append(v.Differs, err.Error())
		return v, nil
	case was.SHA256 == "":
		v.Verdict = VerifiedNothing
		return v, nil
	}
	v.Measured = was.SHA256
	is, err := footage.Digest(ctx, l.Footage.Path)
	switch {
	case ctx.Err() != nil:
		return v, ctx.Err()
	case err != nil:
		v.Verdict, v.Differs = VerifiedMissing, append(v.Differs, err.Error())
	case is.SHA256 == was.SHA256:
		v.Verdict, v.Found = VerifiedSame, is.SHA256
	default:
		v.Verdict, v.Found, v.Differs = VerifiedOther, is.SHA256, append(v.Differs, was.Differing(is)...)
		if len(v.Differs) == 0 {
			v.Differs = append(v.Differs, "the digest of the footage is another")
		}
	}
	return v, nil
}

// measuredIn is the footage that results in a folder come from; empty where there are none. What measure --out leaves has no recorder. It is an error
// where the files are damaged or not of one result.
func measuredIn(name, dir string) (footage.Identity, error) {
	files := map[string][]byte{}
	for _, file := range [...]string{answersFile, recorderFile} {
		if b, err := disk.Read(filepath.Join(dir, file), logbook.MostKept); err == nil {
			files[file] = b
		}
	}
	k := readKept(name, files, wholeFile)
	if k.damage != nil {
		return footage.Identity{}, k.damage
	}
	if k.record != nil {
		return k.measuredFrom(), ofOneResult(dir, k.record.Files)
	}
	if files[answersFile] == nil {
		return footage.Identity{}, nil
	}
	s := &Sheet{}
	err := json.Unmarshal(files[answersFile], s)
	if err == nil {
		err = s.check()
	}
	if err != nil {
		return footage.Identity{}, fmt.Errorf("%s is damaged: %w", answersFile, err)
	}
	return footage.Identity{SHA256: s.Footage.SHA256}, ofOneResult(dir, s.Files)
}

// ofOneResult holds files against the digests that their result has of them.
func ofOneResult(dir string, digests map[string]string) error {
	for _, file := range slices.Sorted(maps.Keys(digests)) {
		if b, err := disk.Read(filepath.Join(dir, filepath.Base(file)), logbook.MostKept); err != nil || digestOf(b) != digests[file] {
			return fmt.Errorf("%s is not the file that was kept with the answers", file)
		}
	}
	return nil
}

// Text writes a line per launch, and what differs below it.
func (s *VerifySheet) Text(w io.Writer) error {
	t := tabwriter.NewWriter(w, 0, 0, 3, ' ', 0)
	for _, l := range s.Launches {
		fmt.Fprintf(t, "%s\t%s\t%s\n", l.Name, strings.ReplaceAll(string(l.Verdict), "-", " "), l.Footage)
		for _, d := range l.Differs {
			fmt.Fprintf(t, "\t\t%s\n", strings.Join(strings.Fields(d), " "))
		}
	}
	return t.Flush()
}

// Differs is what there is to say where a launch does not stand as it was measured; nil where all that were measured do.
func (s *VerifySheet) Differs() error {
	var names []string
	for _, l := range s.Launches {
		if l.Verdict != VerifiedSame && l.Verdict != VerifiedNothing {
			names = append(names, l.Name)
		}
	}
	if len(names) == 0 {
		return nil
	}
	const most = 5
	list := strings.Join(slices.Clip(names[:min(len(names), most)]), ", ")
	if len(names) > most {
		list += ", ..."
	}
	return fault.NoAnswerf("put back the footage that was measured, or measure again", "%d of %d launches do not stand as they were measured: %s", len(names), len(s.Launches), list)
}
