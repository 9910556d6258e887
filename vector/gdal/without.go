//go:build nogdal

package gdal

// Built reports whether the program has GDAL.
const Built = false

// A dataset stands for GDAL's handle of an open file; there is none.
type dataset struct{}

func openRaster(string) (dataset, error) { return dataset{}, ErrNotBuilt }

func openVectors(string) (dataset, error) { return dataset{}, ErrNotBuilt }

func create(string, string, Creation, []string) (dataset, error) { return dataset{}, ErrNotBuilt }

func (dataset) close() error { return ErrNotBuilt }

func (dataset) paletted() bool { return false }

func (dataset) info() Info { return Info{} }

func (dataset) colours() []int { return nil }

func (dataset) masks([]int) []int { return nil }

func (dataset) layers() ([]Layer, error) { return nil, ErrNotBuilt }

func (dataset) translated([]string) (dataset, error) { return dataset{}, ErrNotBuilt }

func (dataset) warped([]string) (dataset, error) { return dataset{}, ErrNotBuilt }

func (dataset) translate(string, []string) error { return ErrNotBuilt }

func (dataset) copyTo(string, string, []string) error { return ErrNotBuilt }

func (dataset) write(int, area, patch, []byte) error { return ErrNotBuilt }

func (dataset) read(int, int, Window, Resampling, area, []byte) error { return ErrNotBuilt }

func (dataset) readMask(int, int, Window, Resampling, area, []uint8) error { return ErrNotBuilt }
