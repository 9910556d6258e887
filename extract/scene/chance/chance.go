// Package chance gives the simulator its random numbers.
//
// A Stream is keyed, not shared: the same keys give the same numbers, so a
// pulse draws the same noise whichever worker works it and whenever. The
// generator is splitmix64 (Steele, Lea & Flood 2014, OOPSLA, "Fast splittable
// pseudorandom number generators").
package chance

import "math"

// golden is 2⁶⁴ divided by the golden ratio, splitmix64's increment.
const golden = 0x9e3779b97f4a7c15

// mix is the output function of splitmix64.
func mix(z uint64) uint64 {
	z = (z ^ z>>30) * 0xbf58476d1ce4e5b9
	z = (z ^ z>>27) * 0x94d049bb133111eb
	return z ^ z>>31
}

// Hash returns a number that depends on every key and on their order.
func Hash(keys ...uint64) uint64 {
	h := uint64(golden)
	for _, k := range keys {
		h = mix(h ^ mix(k+golden))
	}
	return h
}

// Unit turns a hash into a number in [0, 1).
func Unit(hash uint64) float64 { return float64(hash>>11) / (1 << 53) }

// A Stream is a sequence of random numbers. It is not safe for concurrent use.
type Stream struct{ state uint64 }

// New returns the stream of the given keys.
func New(keys ...uint64) *Stream { return &Stream{Hash(keys...)} }

// Keyed returns the stream of one key by value, for use in a tight loop.
func Keyed(key uint64) Stream { return Stream{mix(key + golden)} }

// Uint64 returns the next number.
func (s *Stream) Uint64() uint64 {
	s.state += golden
	return mix(s.state)
}

// Float returns a number in [0, 1).
func (s *Stream) Float() float64 { return Unit(s.Uint64()) }

// Between returns a number in [a, b).
func (s *Stream) Between(a, b float64) float64 { return a + (b-a)*s.Float() }

// Pick returns a whole number in [0, n); 0 when n is below 2.
func (s *Stream) Pick(n int) int {
	if n < 2 {
		return 0
	}
	return int(s.Uint64() % uint64(n))
}

// Chance reports true with probability p.
func (s *Stream) Chance(p float64) bool { return s.Float() < p }

// Normal returns a number with mean 0 and standard deviation 1 (Box & Muller
// 1958, Ann. Math. Stat. 29:610-611).
func (s *Stream) Normal() float64 {
	r := math.Sqrt(-2 * math.Log(1-s.Float()))
	return r * math.Cos(2*math.Pi*s.Float())
}

// Exponential returns a number with mean 1.
func (s *Stream) Exponential() float64 { return -math.Log(1 - s.Float()) }

// Lattice returns the hash of a place on a grid; it is Hash for the inside of
// a loop.
func Lattice(key, x, y, z uint64) uint64 {
	return mix(key ^ x*0xd6e8feb86659fd93 ^ mix(y*0xa0761d6478bd642f^z*golden))
}
