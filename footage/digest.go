package footage

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"

	"padside/disk"
	"padside/fault"
)

// Digest reads all of a footage's files for its identity. The digest of a clip is the SHA-256 (FIPS 180-4) of the file in hex; of stills, that of the list of
// their digests and names, one "digest  name" line each, in order.
func (f *Footage) Digest(ctx context.Context) (Identity, error) {
	return digestAll(ctx, f.src.files(), f.kind)
}

// Digest is the same for footage that is not open.
func Digest(ctx context.Context, path string) (Identity, error) {
	names, kind, err := filesOf(path)
	if err != nil {
		return Identity{}, err
	}
	return digestAll(ctx, names, kind)
}

func digestAll(ctx context.Context, names []string, kind Kind) (Identity, error) {
	id := Identity{Files: make([]Part, len(names))}
	all := sha256.New()
	for i, n := range names {
		p, err := digest(ctx, n)
		if err != nil {
			return Identity{}, err
		}
		id.Files[i] = p
		fmt.Fprintf(all, "%s  %s\n", p.SHA256, p.Name)
	}
	id.SHA256 = hex.EncodeToString(all.Sum(nil))
	if kind == Clip {
		id.SHA256 = id.Files[0].SHA256
	}
	return id, nil
}

// digest reads one file. A file that is written to meanwhile has no digest.
func digest(ctx context.Context, name string) (Part, error) {
	before, err := partOf(name)
	if err != nil {
		return Part{}, err
	}
	r, err := disk.Open(name)
	if err != nil {
		return Part{}, fault.Requestf("check that the file is still there and may be read", "cannot open %s", name)
	}
	defer r.Close()
	h := sha256.New()
	for err != io.EOF {
		if ctx.Err() != nil {
			return Part{}, ctx.Err()
		}
		if _, err = io.CopyN(h, r, 8<<20); err != nil && err != io.EOF {
			return Part{}, fault.Failedf(err, "", "read %s", name)
		}
	}
	p, err := partOf(name)
	if err != nil {
		return Part{}, err
	}
	if p != before {
		return Part{}, fault.Requestf("wait until it is copied or recorded whole, and try again", "%s changed while it was read", name)
	}
	p.SHA256 = hex.EncodeToString(h.Sum(nil))
	return p, nil
}
