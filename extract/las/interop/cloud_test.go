package interop

import (
	"encoding/binary"
	"math"
	"math/rand/v2"

	"quoin/extract/las"
)

// A scan makes up points as an airborne scanner of zigzag pattern would record
// them: rolling ground, trees with several returns, noise of a few centimetres
// in all coordinates, intensities and colours that depend on the ground.
type scan struct {
	random   *rand.Rand
	layout   las.Layout
	length   int
	channels int
	pulse    int
}

// newScan returns a scanner of so many channels that writes records with
// extra bytes.
func newScan(format uint8, extra, channels int) *scan {
	layout, _ := las.LayoutOf(format)
	return &scan{
		random: rand.New(rand.NewPCG(1, uint64(format))), layout: layout, length: layout.Length + extra, channels: channels,
	}
}

// records returns n records, back to back.
func (s *scan) records(n int) []byte {
	b := make([]byte, 0, n*s.length)
	for len(b) < n*s.length {
		b = s.shoot(b)
	}
	return b[:n*s.length]
}

// linePulses is the number of pulses of one sweep of the mirror.
const linePulses = 400

// shoot appends the returns of the next pulse.
func (s *scan) shoot(b []byte) []byte {
	line, at := s.pulse/linePulses, s.pulse%linePulses
	if line%2 == 1 {
		at = linePulses - 1 - at
	}
	x, y := float64(at)*0.25, float64(line)*0.25
	ground := 8*math.Sin(x/40) + 5*math.Cos(y/25)
	tree := math.Sin(x/9)*math.Cos(y/7) > 0.6
	returns := 1
	if tree {
		returns += s.random.IntN(3)
	}
	for i := range returns {
		z := ground
		if tree && i < returns-1 {
			z += 4 + 10*s.random.Float64()
		}
		b = s.point(b, [3]float64{x, y, z}, i+1, returns)
	}
	s.pulse++
	return b
}

// noise returns a coordinate in millimetres with an error of 2 cm.
func (s *scan) noise(v float64) uint32 {
	return uint32(int32(math.Round(1000*v + 20*s.random.NormFloat64())))
}

func (s *scan) point(b []byte, p [3]float64, number, returns int) []byte {
	rec := make([]byte, s.length)
	le := binary.LittleEndian
	for axis, v := range p {
		le.PutUint32(rec[4*axis:], s.noise(v))
	}
	bright := 900 + 300*math.Sin(p[0]/5) + 40*s.random.NormFloat64()
	le.PutUint16(rec[12:], uint16(max(bright, 0)))
	angle := 40 * (p[0] - 50) / 100
	class := byte(2)
	if returns > 1 && number < returns {
		class = 5
	}
	if s.layout.Extended {
		channel := byte(s.pulse*7/3) % byte(s.channels)
		rec[14], rec[15], rec[16] = byte(number|returns<<4), channel<<4|byte(s.pulse/linePulses%2)<<6, class
		le.PutUint16(rec[18:], uint16(int16(math.Round(angle/0.006))))
	} else {
		rec[14], rec[15], rec[16] = byte(number|returns<<3)|byte(s.pulse/linePulses%2)<<6, class, byte(int8(math.Round(angle)))
	}
	le.PutUint16(rec[s.layout.Source:], 7)
	if at := s.layout.Time; at >= 0 {
		le.PutUint64(rec[at:], math.Float64bits(3e8+float64(s.pulse)*4e-6))
	}
	s.paint(rec, p)
	for i := s.layout.Length; i < s.length; i++ {
		rec[i] = byte(s.pulse >> (3 * (i - s.layout.Length)))
	}
	return append(b, rec...)
}

// paint sets colours, 8-bit ones in the high byte as most cameras' are.
func (s *scan) paint(rec []byte, p [3]float64) {
	colour := func(phase float64) uint16 {
		return uint16(110+60*math.Sin(p[0]/11+phase)+6*s.random.NormFloat64()) << 8
	}
	if at := s.layout.Colour; at >= 0 {
		for i := range 3 {
			binary.LittleEndian.PutUint16(rec[at+2*i:], colour(0.3*float64(i)))
		}
	}
	if at := s.layout.NIR; at >= 0 {
		binary.LittleEndian.PutUint16(rec[at:], colour(2))
	}
}

// header returns one that the records go with.
func (s *scan) header(format uint8) las.Header {
	h := las.Header{
		Version: 4, Format: format, Scale: [3]float64{0.001, 0.001, 0.001}, Offset: [3]float64{500, 900, 10},
		ExtraBytes: s.length - s.layout.Length, Software: "quoin", SystemID: "made up",
	}
	return h
}
