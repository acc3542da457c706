package bank

import "math"

// Place turns recorded frames into those that are played: without what lies under the
// note, and with an even image. It works in place and in pieces.
//
// Problem: the two microphones stood some way apart, so that each note has an image of its
// own: the key beside it may come from the other side, and where both channels are out of
// phase a mono loudspeaker loses most of it. Under the notes lies the rumble of the room.
// Method: the image is a matrix for each recording, found when the bank is made (see
// Balanced): both channels get the same share of what they have in common, and so much of
// the rest, with opposite signs, that mono loses the same for all. The rumble goes through
// a high-pass filter of the fourth order (Butterworth) at half the key's fundamental, at
// most highest: above that lies the knock of key and soundboard, which belongs to the
// instrument. Cost: 28 operations a frame, once for each tone and not for each note.
// Rejected: one channel for both, which is steady and has no width.
func (s Sample) Place(frames []float32, f *Rumble) {
	const unit = 1.0 / Unity
	a, b, c, d := float64(s.Image[0])*unit, float64(s.Image[1])*unit, float64(s.Image[2])*unit, float64(s.Image[3])*unit
	k, n := f.stage[0], f.stage[1]
	left, right := f.memory[0], f.memory[1]
	for i := 0; i+1 < len(frames); i += 2 {
		x, y := float64(frames[i]), float64(frames[i+1])
		l, r := a*x+b*y, c*x+d*y
		// Memory goes by value, so that it stays in registers.
		l, left = left.filter(k, n, l)
		r, right = right.filter(k, n, r)
		frames[i], frames[i+1] = float32(l), float32(r)
	}
	f.memory = [2]memory{left, right}
}

// memory is what the two sections of a channel remember.
type memory struct{ a, b, c, d float64 }

func (m memory) filter(k, n highPass, x float64) (float64, memory) {
	p := k.b * x
	u := p + m.a
	q := n.b * u
	v := q + m.c
	return v, memory{-2*p - k.a1*u + m.b, p - k.a2*u, -2*q - n.a1*v + m.d, q - n.a2*v}
}

// Unity is 1 in an Image.
const Unity = 10000

// A Rumble is the filter's memory for one stretch of frames.
type Rumble struct {
	stage  [2]highPass
	memory [2]memory // left and right
	settle int
}

// highPass is a second-order section: b, -2b, b over 1, a1, a2.
type highPass struct{ b, a1, a2 float64 }

const (
	lowest  = 22  // hertz
	highest = 120 // hertz
)

// NewRumble is the filter for a key, at a rate of frames a second. (Sections by the
// bilinear transform; the quality factors of a fourth-order Butterworth filter are
// 1/(2·cos(π/8)) and 1/(2·cos(3π/8)).)
func NewRumble(key, rate int) Rumble {
	hertz := min(max(220*math.Exp2(float64(key-69)/12), lowest), highest)
	w := math.Tan(math.Pi * hertz / float64(rate))
	r := Rumble{settle: int(1.25 * float64(rate) / hertz)}
	for i, angle := range [2]float64{math.Pi / 8, 3 * math.Pi / 8} {
		q := 1 / (2 * math.Cos(angle))
		n := 1 / (1 + w/q + w*w)
		r.stage[i] = highPass{b: n, a1: 2 * (w*w - 1) * n, a2: (1 - w/q + w*w) * n}
	}
	return r
}

// Settle is the number of frames after which a filter that began in the middle of a sound
// has forgotten that.
func (r Rumble) Settle() int { return r.settle }

// folded is the share of the power that is left in mono; wide bounds how much of what the
// channels do not share may be added for it.
const (
	folded = 0.79
	wide   = 1.6
)

// pan is how much louder left is than right for a key, in dB: one straight line over the
// keyboard, as the player hears it.
func pan(key int) float64 { return 2.5 * float64(64-key) / 44 }

// Balanced returns the Image of a recording of which the mean squares of the channels and
// the mean of their product are known, all without rumble and under the shelf (see Air).
//
// The two channels are turned onto their principal axes: x has most of the power, y what is
// left, and both have nothing in common (Pearson, "On lines and planes of closest fit to
// systems of points in space", 1901). x + g·y and x − g·y are then as loud as each other,
// whatever g, and their mean is x: g is chosen so that it holds the share folded.
func Balanced(left, right, product float64, key int) (image [4]int) {
	angle := math.Atan2(2*product, left-right) / 2
	cos, sin := math.Cos(angle), math.Sin(angle)
	if cos+sin < 0 {
		cos, sin = -cos, -sin
	}
	x := cos*cos*left + sin*sin*right + 2*cos*sin*product
	y := sin*sin*left + cos*cos*right - 2*cos*sin*product
	g := min(math.Sqrt((1-folded)/folded*x/max(y, x*1e-6)), wide)
	// As loud together as recorded.
	level := math.Sqrt((left + right) / (2 * (x + g*g*y)))
	// What came from the left stays there.
	u, v := g*sin, -g*cos
	if cos*u < 0 || cos == 0 && v > 0 {
		u, v = -u, -v
	}
	tilt := math.Pow(10, pan(key)/20)
	gl := level * math.Sqrt(2*tilt*tilt/(1+tilt*tilt))
	gr := level * math.Sqrt(2/(1+tilt*tilt))
	for i, m := range [4]float64{gl * (cos + u), gl * (sin + v), gr * (cos - u), gr * (sin - v)} {
		image[i] = int(math.Round(m * Unity))
	}
	return image
}
