package solid

// A Class says what a simulated point lies on. Values to 63 are those of
// ASPRS LAS 1.4 R15, table 17; from 64 they are this simulator's own, in the
// range left to users.
type Class uint8

// The classes of truth.
const (
	Unclassified  Class = 1
	Terrain       Class = 2
	LowVegetation Class = 3
	MidVegetation Class = 4
	Tree          Class = 5
	Roof          Class = 6
	LowNoise      Class = 7
	Water         Class = 9
	Wire          Class = 14
	Pylon         Class = 15
	BridgeDeck    Class = 17
	HighNoise     Class = 18
	Wall          Class = 64 // façade of a building
	RoofPlant     Class = 65 // chimneys, solar arrays, machines on a roof
	Vehicle       Class = 66 // cars, trucks, trailers, containers
	Fence         Class = 67 // fences and free-standing walls
	Tent          Class = 68
	Stockpile     Class = 69
	Balcony       Class = 70
	Pool          Class = 71 // pools and their covers
	Furniture     Class = 72 // cranes, posts and other things
)

// A Surface is what a ray meets: how it reflects, how it looks, what it is.
// It is a small value, copied with each hit.
type Surface struct {
	Class Class
	// Gloss is the share of pulses that a mirror-like or wet surface throws
	// away from the sensor, 0 to 255.
	Gloss uint8
	// Reflectance at the laser's wavelength, 0 to 255.
	Reflectance uint8
	// Rough is the standard deviation of the surface about its plane in
	// millimetres.
	Rough uint8
	// Red, Green and Blue are the colour in the light.
	Red, Green, Blue uint8
}
