// Package band is an invented band in an invented studio: sound to try
// Tidemark on where nobody's recording may be used. It has two halves.
//
// The first knows nothing of music. A Scene holds rooms, sources at places in
// them and microphones at other places; a Renderer turns it into one channel a
// microphone. What reaches a microphone from a source is
//
//	g · s(t − r/c) / √(r² + a²)
//
// with r the distance, c the speed of sound at the room's temperature, a the
// radius of the source (a drum head near by is no point) and g what the
// patterns of microphone and source leave at that angle. Six first reflections
// follow by their mirror images and then a diffuse tail, whose energy is that
// of the statistical room, 16π/A re the direct sound at 1 m (A: Sabine's
// absorption area). A screen between two zones takes level and treble.
//
// The second half plays. Song makes the time (tempo that breathes, swing, a
// groove that all share and a slip that each adds), the instruments are built
// from strings, heads, plates, reeds and a throat, and Session places them in
// the studio with twenty-three lines and, if asked, six faults that are listed
// beside it, so that what a check finds can be compared with the truth.
//
// Sources are in pascal at 1 m, microphones in full scale ±1 after the gain.
// All chance comes from seeded generators: the same options give the same
// samples on one kind of processor, however the rendering is cut into blocks.
// Names of people, places, songs and equipment are made up.
package band
