//go:build !unix

package logbook

import "errors"

func limitFiles(uint64) (lift func() error, err error) {
	return nil, errors.New("no limit on this system")
}
