//go:build !nogdal

package gdal_test

import (
	"bytes"
	"encoding/binary"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"testing"

	"quoin/vector/crs"
	"quoin/vector/gdal"
)

// TestDamagedFiles cuts files short and changes their bytes: there may be an
// error, and there must be an end.
func TestDamagedFiles(t *testing.T) {
	folder := t.TempDir()
	small := filepath.Join(folder, "small.pnm")
	run(t, "gdal_translate", "-q", "-of", "PNM", "-srcwin", "0", "0", "70", "45", picture(t, 3, 255), small)
	for name, options := range map[string]string{
		"deflate": "TILED=YES COMPRESS=DEFLATE", "jpeg": "TILED=YES COMPRESS=JPEG", "lzw": "COMPRESS=LZW", "webp": "COMPRESS=WEBP",
	} {
		whole := filepath.Join(folder, name+".tif")
		args := []string{"-q", "-a_srs", "EPSG:25832", "-a_ullr", "0", "45", "70", "0"}
		for _, o := range strings.Fields(options) {
			args = append(args, "-co", o)
		}
		run(t, "gdal_translate", append(args, small, whole)...)
		run(t, "gdaladdo", "-q", whole, "2")
		good, err := os.ReadFile(whole)
		if err != nil {
			t.Fatal(err)
		}
		random := rand.New(rand.NewPCG(1, 2))
		damaged := filepath.Join(folder, "damaged.tif")
		failed := 0
		for i := range 300 {
			content := bytes.Clone(good)
			if i%3 == 0 {
				content = content[:random.IntN(len(content))]
			}
			for range random.IntN(4) {
				if len(content) > 0 {
					content[random.IntN(min(len(content), 1000))] = byte(random.Uint32())
				}
			}
			if err := os.WriteFile(damaged, content, 0o666); err != nil {
				t.Fatal(err)
			}
			if readAll(damaged) != nil {
				failed++
			}
		}
		if failed < 100 {
			t.Errorf("%s: only %d of 300 damaged files gave an error", name, failed)
		}
	}
}

func readAll(path string) error {
	r, err := gdal.OpenRaster(path)
	if err != nil {
		return err
	}
	defer r.Close()
	m := gdal.NewImage[uint8](40, 40, 3)
	i := r.Info()
	if err := gdal.Read(r, gdal.Window{Width: float64(i.Width), Height: float64(i.Height)}, gdal.Average, m); err != nil {
		return err
	}
	return gdal.Read(r, gdal.Window{Width: 40, Height: 40}, gdal.Nearest, m)
}

// TestGiantTile refuses a file whose smallest piece is larger than memory.
func TestGiantTile(t *testing.T) {
	var b bytes.Buffer
	b.WriteString("II*\x00\x08\x00\x00\x00")
	entries := [][4]uint32{ // tag, type, count, value (TIFF 6.0)
		{256, 4, 1, 200_000},
		{257, 4, 1, 200_000},
		{258, 3, 1, 8},
		{259, 3, 1, 8},
		{262, 3, 1, 1},
		{277, 3, 1, 1},
		{322, 4, 1, 40_000},
		{323, 4, 1, 40_000},
		{324, 4, 25, 200},
		{325, 4, 25, 200},
	}
	binary.Write(&b, binary.LittleEndian, uint16(len(entries)))
	for _, e := range entries {
		binary.Write(&b, binary.LittleEndian, []uint16{uint16(e[0]), uint16(e[1])})
		binary.Write(&b, binary.LittleEndian, e[2:])
	}
	b.Write(make([]byte, 200))
	path := write(t, "giant.tif", b.String())
	if _, err := gdal.OpenRaster(path); err == nil || !strings.Contains(err.Error(), "too large to decode") {
		t.Errorf("a tile of 1.6 GB gives %v", err)
	}
}

// child is set in a process of its own, whose memory is measured.
const child = "QUOIN_TEST_LARGE_IMAGE"

// TestLargeImageInBoundedMemory reads windows all over large images, and the whole
// of one reduced, in a process that may not grow beyond 480 MB: one of 40,000
// by 40,000 pixels in tiles, 4.8 GB, sparse on disk; and a virtual one of 90
// gigapixels, seen in another CRS.
func TestLargeImageInBoundedMemory(t *testing.T) {
	if path := os.Getenv(child); path != "" {
		readLarge(t, path)
		return
	}
	folder := t.TempDir()
	tiles, small, huge := filepath.Join(folder, "large.tif"), filepath.Join(folder, "small.tif"), filepath.Join(folder, "huge.vrt")
	run(t, "gdal_translate", "-q", picture(t, 3, 255), small)
	run(t, "gdal_create", "-outsize", "40000", "40000", "-bands", "3", "-ot", "Byte", "-a_srs", "EPSG:25832",
		"-a_ullr", "500000", "5702000", "502000", "5700000", "-co", "SPARSE_OK=TRUE", "-co", "TILED=YES", "-co", "COMPRESS=DEFLATE", tiles)
	run(t, "gdal_translate", append(append([]string{"-q", "-of", "VRT", "-outsize", "300000", "300000"}, place...), small, huge)...)
	for _, path := range []string{tiles, huge} {
		cmd := exec.Command(os.Args[0], "-test.run=^TestLargeImageInBoundedMemory$", "-test.v")
		cmd.Env = append(os.Environ(), child+"="+path)
		out, err := cmd.CombinedOutput()
		if err != nil {
			t.Fatalf("%v\n%s", err, out)
		}
		peak := cmd.ProcessState.SysUsage().(*syscall.Rusage).Maxrss >> 10
		t.Logf("%s: peak %d MB", filepath.Base(path), peak)
		if peak > 480 {
			t.Errorf("reading %s took %d MB", filepath.Base(path), peak)
		}
	}
}

func readLarge(t *testing.T, path string) {
	r := open(t, path)
	if filepath.Ext(path) == ".vrt" {
		zone33, err := crs.Parse("EPSG:25833")
		if err != nil {
			t.Fatal(err)
		}
		if r, err = r.Warped(gdal.View{CRS: zone33, Resampling: gdal.Bilinear}); err != nil {
			t.Fatal(err)
		}
		defer r.Close()
	}
	i := r.Info()
	m := gdal.NewImage[uint8](1500, 1500, 3)
	seen := false
	for k := range 8 {
		w := gdal.Window{X: float64(k * 7919 % (i.Width - 1500)), Y: float64(k * 104729 % (i.Height - 1500)), Width: 1500, Height: 1500}
		if err := gdal.Read(r, w, gdal.Nearest, m); err != nil {
			t.Fatal(err)
		}
		seen = seen || slices.Max(m.Mask) == 255
	}
	if !seen {
		t.Error("nothing was there")
	}
	if i.Width > 40000 {
		return // a view without overviews is warped at full size
	}
	if err := gdal.Read(r, gdal.Window{Width: 40000, Height: 40000}, gdal.Nearest, m); err != nil {
		t.Fatal(err)
	}
}
