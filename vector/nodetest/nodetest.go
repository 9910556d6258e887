// Package nodetest lets tests compare with decoders of others that are npm
// packages run by node.
package nodetest

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// Install returns the program node and the folder, in the user's cache, in which
// the npm packages (as "laz-perf@0.0.7") are; it installs them there where they
// are not. A test on a machine without node is skipped.
func Install(t testing.TB, packages ...string) (node, folder string) {
	t.Helper()
	node, err := exec.LookPath("node")
	if err != nil {
		t.Skip("node is not installed: nothing to compare with (apt-get install nodejs npm)")
	}
	folder, err = install(packages)
	if err != nil {
		t.Fatal(err)
	}
	return node, folder
}

func install(packages []string) (string, error) {
	cache, err := os.UserCacheDir()
	if err != nil {
		return "", err
	}
	folder := filepath.Join(cache, "quoin", strings.Join(packages, "+"))
	if _, err := os.Stat(folder); err == nil {
		return folder, nil
	}
	if err := os.MkdirAll(filepath.Dir(folder), 0o755); err != nil {
		return "", err
	}
	// Installed beside and renamed, for another run may be at the same.
	fresh, err := os.MkdirTemp(filepath.Dir(folder), "install-")
	if err != nil {
		return "", err
	}
	defer os.RemoveAll(fresh)
	ctx, cancel := context.WithTimeout(context.Background(), 3*time.Minute)
	defer cancel()
	args := append([]string{"install", "--no-audit", "--no-fund", "--ignore-scripts", "--prefix", fresh}, packages...)
	if out, err := exec.CommandContext(ctx, "npm", args...).CombinedOutput(); err != nil {
		return "", fmt.Errorf("npm install %s: %w\n%s", strings.Join(packages, " "), err, out)
	}
	if err := os.Rename(fresh, folder); err != nil && !os.IsExist(err) {
		if _, missing := os.Stat(folder); missing != nil {
			return "", err
		}
	}
	return folder, nil
}
