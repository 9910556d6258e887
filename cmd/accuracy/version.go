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

// versions tell what blocks and deliveries were made with.
type versions struct{ scene, program string }

// versions returns a digest of the simulator's sources, so that blocks are kept
// as long as they would come out the same, and one of the program. Where there
// are no sources to be seen, the first is that of this command.
func (o *options) versions() (versions, error) {
	program, err := digestOf([]string{o.program})
	if err != nil {
		return versions{}, err
	}
	var sources []string
	err = filepath.WalkDir(filepath.Join("extract", "scene"), func(path string, d fs.DirEntry, err error) error {
		if err == nil && !d.IsDir() && strings.HasSuffix(path, ".go") && !strings.HasSuffix(path, "_test.go") {
			sources = append(sources, path)
		}
		return err
	})
	if os.IsNotExist(err) {
		var self string
		if self, err = os.Executable(); err == nil {
			sources = []string{self}
		}
	}
	if err != nil {
		return versions{}, err
	}
	scene, err := digestOf(sources)
	return versions{scene, program}, err
}

// digestOf returns the digest of the files' contents, in the order given.
func digestOf(paths []string) (string, error) {
	digest := sha256.New()
	for _, path := range paths {
		f, err := os.Open(path)
		if err != nil {
			return "", err
		}
		_, err = io.Copy(digest, f)
		_ = f.Close()
		if err != nil {
			return "", err
		}
	}
	return hex.EncodeToString(digest.Sum(nil)), nil
}
