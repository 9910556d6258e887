package exchange_test

import (
	"testing"

	"quoin/vector/exchange"
	"quoin/vector/layer"
)

// Field names of every layer fit a dBase table and differ, letters' case aside.
func TestNames(t *testing.T) {
	for _, l := range layer.All() {
		seen := map[string]bool{}
		for i, name := range exchange.Names(l.Columns) {
			if len(name) > 10 || seen[name] || len(l.Columns[i].Name) <= 10 && name != l.Columns[i].Name {
				t.Errorf("%s: %s becomes %s", l.Name, l.Columns[i].Name, name)
			}
			seen[name] = true
		}
	}
}

// Names that would come out the same are numbered, and a name that fits is never
// taken by one that does not.
func TestNamesThatMeet(t *testing.T) {
	got := exchange.Names([]layer.Column{{Name: "elevation_of_a"}, {Name: "elevation_of_b"}, {Name: "abcdefghijklm"}, {Name: "abcdefghijxyz"}, {Name: "abcdefghij"}})
	want := []string{"eleva_of_a", "eleva_of_b", "abcdefghi2", "abcdefghi3", "abcdefghij"}
	for i := range want {
		if got[i] != want[i] {
			t.Errorf("got %q, want %q", got, want)
			break
		}
	}
}
