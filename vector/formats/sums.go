package formats

import (
	"bufio"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"quoin/vector/atomicfile"
)

// FileSums is the list of checksums, one line a file, as sha256sum -c takes it.
const FileSums = "SHA256SUMS"

// maxSums is the size of the largest list that is read, in bytes.
const maxSums = 1 << 24

// Listed returns the names in the list of checksums of a folder, with slashes;
// none where there is no list. Names that lead out of the folder are left out.
func Listed(folder string) ([]string, error) {
	sums, err := readSums(folder)
	return slices.Sorted(maps.Keys(sums)), err
}

// readSums returns checksums by name. Lines of another form are passed over.
func readSums(folder string) (map[string]string, error) {
	sums := map[string]string{}
	f, err := os.Open(filepath.Join(folder, FileSums))
	if errors.Is(err, fs.ErrNotExist) {
		return sums, nil
	}
	if err != nil {
		return nil, err
	}
	defer f.Close()
	in := bufio.NewScanner(io.LimitReader(f, maxSums))
	for in.Scan() {
		sum, name, ok := strings.Cut(in.Text(), "  ")
		if b, err := hex.DecodeString(sum); !ok || err != nil || len(b) != sha256.Size || !filepath.IsLocal(filepath.FromSlash(name)) {
			continue
		}
		sums[name] = sum
	}
	return sums, in.Err()
}

// unsummed reports whether a file is left out of the list: the list itself, and
// the record, which tells times and so changes with every run. All else has the
// same bytes for the same input, and so has the list.
func unsummed(name string) bool { return name == FileSums || name == "run.json" }

// sumFiles adds the checksums of all files in a folder, however deep, but for
// those that are unsummed and names that begin with a dot.
func sumFiles(folder string, sums map[string]string) error {
	return filepath.WalkDir(folder, func(path string, e fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		name, err := filepath.Rel(folder, path)
		switch {
		case err != nil || name == ".":
			return err
		case strings.HasPrefix(e.Name(), ".") && e.IsDir():
			return fs.SkipDir
		case strings.HasPrefix(e.Name(), ".") || !e.Type().IsRegular() || unsummed(name):
			return nil
		}
		sum, err := sumFile(path)
		sums[filepath.ToSlash(name)] = sum
		return err
	})
}

func sumFile(path string) (string, error) {
	f, err := os.Open(path)
	if err != nil {
		return "", err
	}
	defer f.Close()
	h := sha256.New()
	if _, err := io.Copy(h, f); err != nil {
		return "", fmt.Errorf("%s: %w", path, err)
	}
	return hex.EncodeToString(h.Sum(nil)), nil
}

func writeSums(path string, sums map[string]string) error {
	return atomicfile.Write(path, func(w io.Writer) error {
		for _, name := range slices.Sorted(maps.Keys(sums)) {
			if _, err := fmt.Fprintf(w, "%s  %s\n", sums[name], name); err != nil {
				return err
			}
		}
		return nil
	})
}
