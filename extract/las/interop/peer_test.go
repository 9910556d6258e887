package interop

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"
)

// The decoders of others: package and version.
var peers = []string{"laz-perf@0.0.7", "copc@0.0.8"}

// A peer runs testdata/peer.cjs.
type peer struct {
	node, modules string
}

var findPeer = sync.OnceValues(installPeer)

// newPeer returns the decoders of others, which it installs where they are
// not. A test without node is skipped.
func newPeer(t testing.TB) peer {
	t.Helper()
	if _, err := exec.LookPath("node"); err != nil {
		t.Skip("node is not installed: nothing to compare with (apt-get install nodejs npm)")
	}
	p, err := findPeer()
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func installPeer() (peer, error) {
	node, err := exec.LookPath("node")
	if err != nil {
		return peer{}, err
	}
	cache, err := os.UserCacheDir()
	if err != nil {
		return peer{}, err
	}
	dir := filepath.Join(cache, "quoin", strings.Join(peers, "+"))
	p := peer{node, dir}
	if _, err := os.Stat(dir); err == nil {
		return p, nil
	}
	if err := os.MkdirAll(filepath.Dir(dir), 0o755); err != nil {
		return p, err
	}
	// Installed beside and renamed, for another run may be at the same.
	fresh, err := os.MkdirTemp(filepath.Dir(dir), "install-")
	if err != nil {
		return p, err
	}
	defer os.RemoveAll(fresh)
	ctx, cancel := context.WithTimeout(context.Background(), 3*time.Minute)
	defer cancel()
	args := append([]string{"install", "--no-audit", "--no-fund", "--ignore-scripts", "--prefix", fresh}, peers...)
	if out, err := exec.CommandContext(ctx, "npm", args...).CombinedOutput(); err != nil {
		return p, fmt.Errorf("npm install %s: %w\n%s", strings.Join(peers, " "), err, out)
	}
	if err := os.Rename(fresh, dir); err != nil && !os.IsExist(err) {
		if _, exists := os.Stat(dir); exists != nil {
			return p, err
		}
	}
	return p, nil
}

// run returns the lines that the script prints.
func (p peer) run(t testing.TB, args ...string) []string {
	t.Helper()
	ctx, cancel := context.WithTimeout(context.Background(), 2*time.Minute)
	defer cancel()
	out, err := exec.CommandContext(ctx, p.node, append([]string{"testdata/peer.cjs", p.modules}, args...)...).Output()
	if err != nil {
		t.Fatalf("node: %v\n%s", err, out)
	}
	return strings.Split(strings.TrimSpace(string(out)), "\n")
}
