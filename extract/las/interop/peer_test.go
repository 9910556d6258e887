package interop

import (
	"context"
	"os/exec"
	"strings"
	"testing"
	"time"

	"quoin/vector/nodetest"
)

// The decoders of others: package and version.
var peers = []string{"laz-perf@0.0.7", "copc@0.0.8"}

// A peer runs testdata/peer.cjs.
type peer struct {
	node, modules string
}

// newPeer returns the decoders of others. A test without node is skipped.
func newPeer(t testing.TB) peer {
	t.Helper()
	node, modules := nodetest.Install(t, peers...)
	return peer{node, modules}
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
