package copc

import (
	"bytes"
	"math/rand/v2"
	"testing"

	"quoin/extract/las/laz"
)

// TestManyPages writes the hierarchy of a deep tree and reads it again, all of
// it and the way to one node.
func TestManyPages(t *testing.T) {
	rnd := rand.New(rand.NewPCG(5, 6))
	seen := map[Key]bool{}
	var keys []Key
	var chunks []laz.Extent
	const start = 1000
	at := int64(start + pointsAt)
	for len(keys) < 20000 {
		k := Key{}
		for range 3 + rnd.IntN(9) {
			k = k.child(rnd.IntN(3)) // crowded in a corner, with gaps above
		}
		if seen[k] {
			continue
		}
		seen[k] = true
		keys = append(keys, k)
		chunks = append(chunks, laz.Extent{Points: uint64(1 + len(keys)), Offset: at, Size: 100})
		at += 100
	}
	p := paginate(keys, chunks, at)
	file := append(make([]byte, at), p.data...)
	info := Info{HalfSize: 1, Spacing: 1, rootAt: uint64(at), rootSize: uint64(p.root)}
	open := func() *Reader {
		return &Reader{file: bytes.NewReader(file), size: int64(len(file)), head: head{start: start, info: info}}
	}
	r := open()
	nodes, err := r.nodes(func(Key) bool { return true })
	if err != nil {
		t.Fatal(err)
	}
	if len(nodes) != len(keys) {
		t.Fatalf("%d nodes, want %d", len(nodes), len(keys))
	}
	for i, n := range nodes {
		if n != (Node{keys[i], int(chunks[i].Points), chunks[i].Offset, chunks[i].Size}) {
			t.Fatalf("node %d is %v, want %v", i, n, keys[i])
		}
	}
	all := len(r.hierarchy.pages)
	if all < 10 {
		t.Errorf("there are %d pages, too few for this test", all)
	}
	for _, k := range keys[:50] {
		r := open()
		nodes, err := r.nodes(func(o Key) bool { return o.Level <= k.Level && k.up(o.Level) == o })
		if err != nil {
			t.Fatal(err)
		}
		if len(nodes) == 0 || nodes[len(nodes)-1].Key.Level > k.Level {
			t.Errorf("%v: found %v", k, nodes)
		}
		if n := len(r.hierarchy.pages); n > int(k.Level)/pageLevels+1 {
			t.Errorf("%v: %d pages of %d were read", k, n, all)
		}
	}
}
