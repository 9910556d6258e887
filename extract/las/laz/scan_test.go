package laz_test

import (
	"encoding/binary"
	"math"
	"math/rand/v2"

	"quoin/extract/las/laz"
)

// sizes are the lengths of records without extra bytes: ASPRS LAS 1.4 R15,
// tables 7 to 17.
var recordSizes = []int{20, 28, 26, 34, 57, 63, 30, 36, 38, 59, 67}

// scan returns n invented records of a format, as an airborne scanner would
// measure them: lines across a street of houses and trees, up to three returns
// a pulse, coordinates in centimetres.
func scan(format, n int) []byte {
	rnd := rand.New(rand.NewPCG(7, 8))
	b := make([]byte, 0, n*recordSizes[format])
	pulse := 0
	for len(b) < n*recordSizes[format] {
		line, at := pulse/600, pulse%600
		swing := math.Sin(math.Pi * (float64(at)/600 - 0.5))
		x := 300*swing + rnd.NormFloat64()*0.03
		y := float64(line)*0.35 + float64(at)/600*0.35 + rnd.NormFloat64()*0.03
		ground := 2*math.Sin(x/40) + y/100
		heights := []float64{ground + rnd.NormFloat64()*0.02}
		class := []byte{2}
		switch house, tree := math.Mod(math.Abs(x), 25), math.Mod(x*0.13+y*0.21, 7); {
		case house < 10 && math.Mod(y, 20) < 12:
			heights[0] += 5 + 0.7*(5-math.Abs(house-5))
			class[0] = 6
		case tree < 1.5:
			for h := 6 + 5*rnd.Float64(); h > 1 && len(heights) < 3; h *= rnd.Float64() {
				heights = append([]float64{ground + h}, heights...)
				class = append([]byte{5}, class...)
			}
		}
		for r, h := range heights {
			if len(b) == n*recordSizes[format] {
				break
			}
			p := point{
				x: int32(x * 100), y: int32(y * 100), z: int32(h * 100), class: class[r], n: byte(len(heights)), r: byte(r + 1),
				intensity: uint16(max(0, 300+float64(class[r])*60+rnd.NormFloat64()*40)), angle: swing * 20,
				time: 2e8 + float64(pulse)*2.5e-6 + float64(line)*1e-4, dir: byte(line & 1),
			}
			b = p.append(b, format, rnd)
		}
		pulse++
	}
	return b
}

type point struct {
	x, y, z          int32
	class, n, r, dir byte
	intensity        uint16
	angle, time      float64
}

func (p point) append(b []byte, format int, rnd *rand.Rand) []byte {
	le := binary.LittleEndian
	for _, v := range []int32{p.x, p.y, p.z} {
		b = le.AppendUint32(b, uint32(v))
	}
	b = le.AppendUint16(b, p.intensity)
	if format < 6 {
		b = append(b, p.r|p.n<<3|p.dir<<6, p.class, byte(int8(p.angle)), 0)
		b = le.AppendUint16(b, 21)
	} else {
		b = append(b, p.r|p.n<<4, p.dir<<6, p.class, 0)
		b = le.AppendUint16(b, uint16(int16(p.angle/0.006)))
		b = le.AppendUint16(b, 21)
	}
	if format == 1 || format >= 3 {
		b = le.AppendUint64(b, math.Float64bits(p.time))
	}
	switch format {
	case 2, 3, 5, 7, 8, 10:
		base := 20000 + 8000*math.Sin(float64(p.x)/900) + 300*rnd.NormFloat64()
		for _, k := range []float64{1, 0.9, 0.7} {
			b = le.AppendUint16(b, uint16(base*k)&^255|uint16(base*k)>>8)
		}
	}
	if format == 8 || format == 10 {
		b = le.AppendUint16(b, uint16(30000+2000*rnd.NormFloat64()))
	}
	switch format {
	case 4, 5, 9, 10:
		b = append(b, 1)
		b = le.AppendUint64(b, uint64(rnd.IntN(1<<30)))
		b = le.AppendUint32(b, 256)
		for range 4 {
			b = le.AppendUint32(b, math.Float32bits(float32(rnd.NormFloat64())))
		}
	}
	return b
}

// record returns the LASzip record of a format.
func record(format, length int) laz.Record {
	rec, err := laz.NewRecord(format, length)
	if err != nil {
		panic(err)
	}
	return rec
}
