package desk

import (
	"context"

	"padside/logbook"
	"padside/predict"
)

// Predict reads a flight file, flies it, and says what it would reach and how sure that is.
func Predict(ctx context.Context, path string, o predict.Options) (*predict.Sheet, error) {
	f, err := logbook.ReadFlight(path)
	if err != nil {
		return nil, err
	}
	s, err := predict.Run(ctx, f, o)
	if err != nil {
		return nil, err
	}
	s.Program = Program
	return s, nil
}
