package footage

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"padside/fault"
)

// Digest returns the SHA-256 (FIPS 180-4) of the file in hex; for stills, of the list of
// their digests and names, one "digest  name" line each, in order.
func (f *Footage) Digest(ctx context.Context) (string, error) {
	if f.kind == Clip {
		return digest(ctx, f.src.files()[0])
	}
	all := sha256.New()
	for _, n := range f.src.files() {
		one, err := digest(ctx, n)
		if err != nil {
			return "", err
		}
		fmt.Fprintf(all, "%s  %s\n", one, filepath.Base(n))
	}
	return hex.EncodeToString(all.Sum(nil)), nil
}

func digest(ctx context.Context, name string) (string, error) {
	r, err := os.Open(name)
	if err != nil {
		return "", fault.Requestf("check that the file is still there and may be read", "cannot open %s", name)
	}
	defer r.Close()
	h := sha256.New()
	for {
		if ctx.Err() != nil {
			return "", ctx.Err()
		}
		_, err := io.CopyN(h, r, 8<<20)
		if err == io.EOF {
			return hex.EncodeToString(h.Sum(nil)), nil
		}
		if err != nil {
			return "", fault.Failedf(err, "", "read %s", name)
		}
	}
}
