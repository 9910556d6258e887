package atomicfile_test

import (
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"quoin/vector/atomicfile"
)

func names(t *testing.T, folder string) string {
	t.Helper()
	entries, err := os.ReadDir(folder)
	if err != nil {
		t.Fatal(err)
	}
	var all []string
	for _, e := range entries {
		all = append(all, e.Name())
	}
	return strings.Join(all, " ")
}

func TestWriteReplacesWhole(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a.txt")
	for _, text := range []string{"first, longer", "second"} {
		err := atomicfile.Write(path, func(w io.Writer) error {
			_, err := io.WriteString(w, text)
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
		got, err := os.ReadFile(path)
		if err != nil || string(got) != text {
			t.Fatalf("got %q, %v; want %q", got, err, text)
		}
	}
	if got := names(t, filepath.Dir(path)); got != "a.txt" {
		t.Errorf("folder holds %q", got)
	}
}

func TestFailureLeavesTheOldFile(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a.txt")
	if err := os.WriteFile(path, []byte("old"), 0o644); err != nil {
		t.Fatal(err)
	}
	cause := errors.New("no more input")
	err := atomicfile.Write(path, func(w io.Writer) error {
		if _, err := io.WriteString(w, "half"); err != nil {
			return err
		}
		return cause
	})
	if !errors.Is(err, cause) {
		t.Errorf("got %v, want the cause", err)
	}
	if got, _ := os.ReadFile(path); string(got) != "old" {
		t.Errorf("file holds %q", got)
	}
	if got := names(t, filepath.Dir(path)); got != "a.txt" {
		t.Errorf("folder holds %q", got)
	}
}

func TestMissingFolderNamesThePath(t *testing.T) {
	path := filepath.Join(t.TempDir(), "absent", "a.txt")
	err := atomicfile.Write(path, func(io.Writer) error { return nil })
	if !errors.Is(err, fs.ErrNotExist) || !strings.Contains(err.Error(), path) {
		t.Errorf("got %v", err)
	}
}

func TestFinishedFileHasOrdinaryPermissions(t *testing.T) {
	folder := t.TempDir()
	plain, ours := filepath.Join(folder, "plain"), filepath.Join(folder, "ours")
	f, err := os.Create(plain)
	if err != nil {
		t.Fatal(err)
	}
	f.Close()
	if err := atomicfile.Write(ours, func(io.Writer) error { return nil }); err != nil {
		t.Fatal(err)
	}
	want, _ := os.Stat(plain)
	got, _ := os.Stat(ours)
	if got.Mode() != want.Mode() {
		t.Errorf("got %v, want %v", got.Mode(), want.Mode())
	}
}
