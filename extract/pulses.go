package extract

import "quoin/extract/cloud"

// A pulseKey names a pulse: its returns share swath and time.
type pulseKey struct {
	tick   uint64
	source uint16
}

// A meeting is what a pulse with several returns did at a roof.
type meeting struct {
	z     float64 // elevation of its lowest return on the roof
	split bool    // it has a return below the roof as well
}

// meetings are the pulses that met a roof and have other returns.
type meetings map[pulseKey]*meeting

// of returns the meeting of a return's pulse, or nil. Some files time each
// return by its own range, so that those of a pulse lie a step apart.
func (m meetings) of(p *cloud.Point) *meeting {
	if len(m) == 0 || p.Returns() == 1 {
		return nil
	}
	for _, tick := range [3]uint64{p.Tick(), p.Tick() - 1, p.Tick() + 1} {
		if found := m[pulseKey{tick, p.Source}]; found != nil {
			return found
		}
	}
	return nil
}

// meetings returns the pulses that met a roof. Without time, the returns of a
// pulse can't be told.
func (s *surroundings) meetings(shape *roofShape) meetings {
	met := make(meetings)
	if !s.block.HasTime {
		return met
	}
	for _, i := range shape.points {
		p := &s.block.Points[i]
		if p.Returns() == 1 {
			continue
		}
		if m := met.of(p); m != nil {
			m.z = min(m.z, p.Up())
			continue
		}
		met[pulseKey{p.Tick(), p.Source}] = &meeting{z: p.Up()}
	}
	return met
}

// markSplit marks the pulses that met something below the roof as well.
func (s *surroundings) markSplit(met meetings, building int32, window cloud.Rect) {
	if len(met) == 0 {
		return
	}
	for i := range s.block.In(window) {
		if s.roofOf[i] == building {
			continue
		}
		p := &s.block.Points[i]
		if m := met.of(p); m != nil && p.Up() < m.z-s.below() {
			m.split = true
		}
	}
}
