package band

import "math"

// Indexes of the sources in a session's scene.
const (
	srcBeater = iota
	srcFront
	srcSnareTop
	srcSnareLow
	srcHat
	srcRack
	srcFloor
	srcCrash
	srcRide
	srcSticks
	srcPerc
	srcBassString
	srcBassAmp
	srcGuitarString
	srcGuitarAmp
	srcAcoustic
	srcSqueeze
	srcPiano
	srcPianoLow
	srcPianoHigh
	srcLead
	srcLow
	srcHigh
	srcTalk
)

// Rooms of the invented studio.
const (
	roomBig = iota
	roomLead
	roomBacking
	roomAcoustic
	roomBass
	roomGuitar
	roomControl
	roomParlour
	roomSqueeze
)

func studioRooms() []Room {
	return []Room{
		roomBig:      {"big room", Point{9.2, 7.4, 3.6}, 0.38, 21},
		roomLead:     {"booth 1", Point{2.7, 2.3, 2.5}, 0.14, 22},
		roomBacking:  {"booth 2", Point{3.4, 2.6, 2.5}, 0.16, 22},
		roomAcoustic: {"booth 3", Point{3.1, 2.6, 2.5}, 0.22, 22},
		roomBass:     {"closet A", Point{1.6, 1.3, 2.4}, 0.15, 22},
		roomGuitar:   {"closet B", Point{1.5, 1.3, 2.4}, 0.15, 22},
		roomParlour:  {"parlour", Point{5.2, 4.1, 3.0}, 0.30, 21},
		roomSqueeze:  {"booth 4", Point{3.2, 2.9, 2.6}, 0.22, 22},
		roomControl:  {"control room", Point{5.5, 6.2, 2.9}, 0.25, 22},
	}
}

// Zones within rooms, and what stands between them: the kick's shell, and a gobo
// before the percussion.
const (
	zoneKit   = "kit"
	zoneShell = "shell"
	zonePerc  = "percussion"
)

func studioScreens() []Screen {
	return []Screen{
		{zoneShell, zoneKit, 9, 1400},
		{zoneShell, zonePerc, 20, 700},
		{zoneKit, zonePerc, 10, 2500},
	}
}

// Places of the kit in the big room: the drummer looks towards −y.
var (
	snareTopAt = Point{4.50, 4.50, 0.72}
	snareLowAt = Point{4.50, 4.50, 0.59}
	up         = Point{0, 0, 1}
	down       = Point{0, 0, -1}
	toDoor     = Point{0, -1, 0}
)

// overheadM is what both overheads are meant to be away from the snare's middle.
const overheadM = 1.25

// overhead is the place distanceM from the snare, to the player's left or right.
func overhead(right bool, distanceM float64) Point {
	way := Point{0.70, 0.15, 1.03}
	if right {
		way = Point{-0.82, 0.15, 0.935}
	}
	return snareTopAt.Add(way.Times(distanceM / way.Length()))
}

func studioSources(p *parts) []Source {
	fs := p.fs
	return []Source{
		srcBeater:   {Name: "kick beater", Zone: zoneShell, Pos: Point{4.45, 4.15, 0.34}, Facing: toDoor, Beam: 0.2, SizeM: 0.08, Sound: p.beater},
		srcFront:    {Name: "kick front head", Zone: zoneKit, Pos: Point{4.45, 3.74, 0.34}, Facing: toDoor, Beam: 0.35, SizeM: 0.25, Sound: p.front},
		srcSnareTop: {Name: "snare top head", Zone: zoneKit, Pos: snareTopAt, Facing: up, Beam: 0.42, SizeM: 0.12, Sound: p.snareTop},
		srcSnareLow: {Name: "snare bottom head", Zone: zoneKit, Pos: snareLowAt, Facing: down, Beam: 0.45, SizeM: 0.12, Sound: p.snareLow},
		srcHat:      {Name: "hi-hat", Zone: zoneKit, Pos: Point{4.98, 4.42, 0.95}, SizeM: 0.12, Sound: p.hats},
		srcRack:     {Name: "rack tom", Zone: zoneKit, Pos: Point{4.66, 4.10, 0.95}, Facing: up, Beam: 0.35, SizeM: 0.12, Sound: p.rack},
		srcFloor:    {Name: "floor tom", Zone: zoneKit, Pos: Point{3.90, 4.60, 0.62}, Facing: up, Beam: 0.35, SizeM: 0.16, Sound: p.floor},
		srcCrash:    {Name: "crash", Zone: zoneKit, Pos: Point{5.10, 3.95, 1.28}, SizeM: 0.18, Sound: p.crash},
		srcRide:     {Name: "ride", Zone: zoneKit, Pos: Point{3.86, 4.05, 1.06}, SizeM: 0.18, Sound: p.ride},
		srcSticks:   {Name: "sticks", Zone: zoneKit, Pos: Point{4.45, 4.70, 1.20}, SizeM: 0.05, Sound: p.stick},
		srcPerc:     {Name: "percussion", Zone: zonePerc, Pos: Point{7.6, 5.8, 1.25}, SizeM: 0.08, Sound: p.perc},

		srcBassString:   {Name: "bass", Room: roomBass, Mute: true, Sound: &filtered{p.bass, pickup(2600, 0.8, fs)}},
		srcBassAmp:      {Name: "bass amplifier", Room: roomBass, Pos: Point{0.8, 0.4, 0.5}, Facing: Point{0, 1, 0}, Beam: 0.3, SizeM: 0.16, FedBy: srcBassString + 1, Through: bassAmp(fs)},
		srcGuitarString: {Name: "electric guitar", Room: roomGuitar, Mute: true, Sound: &filtered{p.guitar, pickup(4400, 1.3, fs)}},
		srcGuitarAmp:    {Name: "guitar amplifier", Room: roomGuitar, Pos: Point{0.75, 0.35, 0.45}, Facing: Point{0, 1, 0}, Beam: 0.35, SizeM: 0.12, FedBy: srcGuitarString + 1, Through: guitarAmp(fs)},
		srcAcoustic:     {Name: "acoustic guitar", Room: roomAcoustic, Pos: Point{1.5, 1.6, 0.95}, Facing: toDoor, Beam: 0.3, SizeM: 0.12, Sound: &filtered{p.acoustic, body(fs)}},

		srcSqueeze: {Name: "accordion", Room: roomSqueeze, Pos: Point{1.5, 2.0, 1.0}, Facing: Point{0, -1, 0}, Beam: 0.2, SizeM: 0.15, Sound: p.squeeze},
		// The soundboard as a whole, and what its ends add.
		srcPiano:     {Name: "piano", Room: roomParlour, Pos: Point{4.4, 1.7, 1.0}, SizeM: 0.35, Sound: p.piano},
		srcPianoLow:  {Name: "piano, bass end", Room: roomParlour, Pos: Point{4.4, 1.2, 1.0}, SizeM: 0.25, FedBy: srcPiano + 1, Through: chain{lowpass(330, 0.6, fs), louder(0.55)}},
		srcPianoHigh: {Name: "piano, treble end", Room: roomParlour, Pos: Point{4.4, 2.2, 1.0}, SizeM: 0.25, FedBy: srcPiano + 1, Through: chain{highpass(700, 0.6, fs), louder(0.55)}},

		srcLead: {Name: "lead voice", Room: roomLead, Pos: Point{1.3, 1.4, 1.62}, Facing: toDoor, Beam: 0.3, SizeM: 0.03, Sound: p.lead},
		srcLow:  {Name: "low backing voice", Room: roomBacking, Pos: Point{1.1, 1.5, 1.66}, Facing: toDoor, Beam: 0.3, SizeM: 0.03, Sound: p.low},
		srcHigh: {Name: "high backing voice", Room: roomBacking, Pos: Point{2.3, 1.5, 1.58}, Facing: toDoor, Beam: 0.3, SizeM: 0.03, Sound: p.high},
		srcTalk: {Name: "engineer", Room: roomControl, Pos: Point{2.7, 3.0, 1.2}, Facing: toDoor, Beam: 0.2, SizeM: 0.03, Sound: p.talk},
	}
}

// filtered is a player with a filter behind it.
type filtered struct {
	Player
	Filter
}

// Play implements Player.
func (f *filtered) Play(dst []float32) {
	f.Player.Play(dst)
	f.Filter.Filter(dst)
	// A filter's tail never ends in numbers; this far down it is silence.
	for i, v := range dst {
		if math.Abs(float64(v)) < 1e-9 {
			dst[i] = 0
		}
	}
}

// Indexes of the session's lines.
const (
	lineKickIn = iota
	lineKickOut
	lineSnareTop
	lineSnareLow
	lineHat
	lineRack
	lineFloor
	lineOverL
	lineOverR
	linePerc
	lineRoomL
	lineRoomR
	lineBassDI
	lineBassAmp
	lineGuitar
	lineAcoustic
	lineSqueeze
	linePianoL
	linePianoR
	lineLead
	lineLow
	lineHigh
	lineTalk
)

// studioMics sets the microphones: aim(m, at) turns one towards a place.
func studioMics() []Mic {
	aimed := func(m Mic, at Point) Mic { m.Aim = at.Sub(m.Pos); return m }
	snare := snareTopAt
	return []Mic{
		lineKickIn:   aimed(Mic{Name: "Kick in", Zone: zoneShell, Pos: Point{4.48, 3.98, 0.32}, Pattern: Cardioid, GainDB: -39, NoiseDBFS: -70}, Point{4.45, 4.15, 0.34}),
		lineKickOut:  aimed(Mic{Name: "Kick out", Zone: zoneKit, Pos: Point{4.52, 3.58, 0.34}, Pattern: Cardioid, GainDB: -33, NoiseDBFS: -70}, Point{4.45, 4.15, 0.34}),
		lineSnareTop: aimed(Mic{Name: "Snare top", Zone: zoneKit, Pos: snare.Add(Point{0.13, -0.11, 0.06}), Pattern: Cardioid, GainDB: -37.5, NoiseDBFS: -71}, snare),
		lineSnareLow: aimed(Mic{Name: "Snare bottom", Zone: zoneKit, Pos: snareLowAt.Add(Point{0.10, -0.08, -0.09}), Pattern: Cardioid, GainDB: -38, NoiseDBFS: -71, Flip: true}, snareLowAt),
		lineHat:      aimed(Mic{Name: "Hi-hat", Zone: zoneKit, Pos: Point{5.10, 4.34, 1.09}, Pattern: Cardioid, GainDB: -30, NoiseDBFS: -69, HighPassHz: 250}, Point{4.98, 4.42, 0.95}),
		lineRack:     aimed(Mic{Name: "Rack tom", Zone: zoneKit, Pos: Point{4.76, 3.99, 1.03}, Pattern: Cardioid, GainDB: -33, NoiseDBFS: -71}, Point{4.66, 4.10, 0.95}),
		lineFloor:    aimed(Mic{Name: "Floor tom", Zone: zoneKit, Pos: Point{3.78, 4.47, 0.72}, Pattern: Cardioid, GainDB: -33.5, NoiseDBFS: -71}, Point{3.90, 4.60, 0.62}),
		lineOverL:    aimed(Mic{Name: "OH L", Zone: zoneKit, Pos: overhead(false, overheadM), Pattern: Cardioid, GainDB: -27.5, NoiseDBFS: -69}, snare),
		lineOverR:    aimed(Mic{Name: "OH R", Zone: zoneKit, Pos: overhead(true, overheadM), Pattern: Cardioid, GainDB: -27.5, NoiseDBFS: -69}, snare),
		linePerc:     aimed(Mic{Name: "Tambourine", Zone: zonePerc, Pos: Point{7.35, 5.5, 1.35}, Pattern: Cardioid, GainDB: -17, NoiseDBFS: -68, HighPassHz: 160}, Point{7.6, 5.8, 1.25}),
		lineRoomL:    {Name: "Room L", Zone: zoneKit, Pos: Point{6.3, 0.9, 1.9}, Pattern: Omni, GainDB: -25, NoiseDBFS: -67},
		lineRoomR:    {Name: "Room R", Zone: zoneKit, Pos: Point{2.7, 0.9, 1.9}, Pattern: Omni, GainDB: -25, NoiseDBFS: -67},
		lineBassDI:   {Name: "Bass DI", Room: roomBass, Direct: srcBassString + 1, GainDB: -10.5, NoiseDBFS: -74},
		lineBassAmp:  aimed(Mic{Name: "Bass amp", Room: roomBass, Pos: Point{0.85, 0.68, 0.52}, Pattern: Cardioid, GainDB: -30, NoiseDBFS: -64}, Point{0.8, 0.4, 0.5}),
		lineGuitar:   aimed(Mic{Name: "Gtr", Room: roomGuitar, Pos: Point{0.79, 0.45, 0.45}, Pattern: Cardioid, GainDB: -31.5, NoiseDBFS: -63}, Point{0.75, 0.35, 0.45}),
		lineAcoustic: aimed(Mic{Name: "Acoustic gtr", Room: roomAcoustic, Pos: Point{1.62, 1.26, 1.0}, Pattern: Cardioid, GainDB: -17.5, NoiseDBFS: -68, HighPassHz: 60}, Point{1.5, 1.6, 0.95}),
		lineSqueeze:  aimed(Mic{Name: "Accordion", Room: roomSqueeze, Pos: Point{1.5, 1.45, 1.1}, Pattern: Cardioid, GainDB: -9, NoiseDBFS: -68, HighPassHz: 60}, Point{1.5, 2.0, 1.0}),
		linePianoL:   {Name: "Piano L", Room: roomParlour, Pos: Point{4.0, 1.4, 1.30}, Pattern: Cardioid, Aim: Point{1, 0, -0.5}, GainDB: -21.5, NoiseDBFS: -68},
		linePianoR:   {Name: "Piano R", Room: roomParlour, Pos: Point{4.0, 2.0, 1.30}, Pattern: Cardioid, Aim: Point{1, 0, -0.5}, GainDB: -21.5, NoiseDBFS: -68},
		lineLead:     aimed(Mic{Name: "Lead voice", Room: roomLead, Pos: Point{1.3, 1.24, 1.63}, Pattern: Cardioid, GainDB: -24.5, NoiseDBFS: -70, HighPassHz: 80}, Point{1.3, 1.4, 1.62}),
		lineLow:      aimed(Mic{Name: "Backing 1", Room: roomBacking, Pos: Point{1.1, 1.25, 1.66}, Pattern: Cardioid, GainDB: -15.5, NoiseDBFS: -69, HighPassHz: 80}, Point{1.1, 1.5, 1.66}),
		lineHigh:     aimed(Mic{Name: "Backing 2", Room: roomBacking, Pos: Point{2.3, 1.25, 1.58}, Pattern: Cardioid, GainDB: -13, NoiseDBFS: -69, HighPassHz: 80}, Point{2.3, 1.5, 1.58}),
		lineTalk:     {Name: "Talkback", Room: roomControl, Pos: Point{2.7, 2.4, 1.1}, Pattern: Omni, GainDB: -11.5, NoiseDBFS: -62, HighPassHz: 120},
	}
}
