package main

import (
	"crypto/sha256"
	"encoding/hex"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
)

// sceneVersion returns a digest of the simulator's sources, so that blocks are
// kept as long as they would come out the same. Where there are no sources to
// be seen it is that of the running program.
func sceneVersion() (string, error) {
	digest := sha256.New()
	add := func(path string) error {
		f, err := os.Open(path)
		if err != nil {
			return err
		}
		defer func() { _ = f.Close() }()
		_, err = io.Copy(digest, f)
		return err
	}
	err := filepath.WalkDir(filepath.Join("extract", "scene"), func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") {
			return err
		}
		return add(path)
	})
	if os.IsNotExist(err) {
		self, err := os.Executable()
		if err != nil {
			return "", err
		}
		if err := add(self); err != nil {
			return "", err
		}
	} else if err != nil {
		return "", err
	}
	return hex.EncodeToString(digest.Sum(nil)), nil
}
