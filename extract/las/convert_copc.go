package las

import (
	"context"
	"fmt"
)

// toCOPC writes the file's points as COPC.
func (f *File) toCOPC(_ context.Context, out string, _ ConvertOptions) (ConvertReport, error) {
	return ConvertReport{}, fmt.Errorf("las: convert to %s: COPC is not written yet", out)
}
