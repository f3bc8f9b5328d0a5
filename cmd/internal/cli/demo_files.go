package cli

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"math"
	"os"
	"path/filepath"
)

// demoFiles writes the files that the story brings: a picture and a log. Both
// are computed here; they show no car that there is.
func demoFiles(dir string) error {
	photo, err := demoPhoto()
	if err != nil {
		return err
	}
	for name, content := range map[string][]byte{"front.png": photo, "pull.csv": demoLog()} {
		if err := os.WriteFile(filepath.Join(dir, name), content, 0o644); err != nil {
			return err
		}
	}
	return nil
}

// demoPhoto is a grey box on two wheels.
func demoPhoto() ([]byte, error) {
	const width, height = 320, 180
	picture := image.NewGray(image.Rect(0, 0, width, height))
	for y := range height {
		for x := range width {
			shade := uint8(230)
			body := x > 30 && x < 290 && y > 70 && y < 130 || x > 90 && x < 230 && y > 35 && y <= 70
			wheel := math.Hypot(float64(x-85), float64(y-130)) < 22 || math.Hypot(float64(x-235), float64(y-130)) < 22
			switch {
			case wheel:
				shade = 30
			case body:
				shade = 140
			}
			picture.SetGray(x, y, color.Gray{Y: shade})
		}
	}
	var out bytes.Buffer
	err := png.Encode(&out, picture)
	return out.Bytes(), err
}

// Times of the demo's log, in seconds.
const (
	demoHoseOn = 10.0 // the reference hose goes on
	demoPulls  = 13.0 // the first pull begins
	demoPull   = 8.0  // a pull
	demoGap    = 3.0  // rolling between pulls
	demoEnd    = demoPulls + 3*(demoPull+demoGap)
)

// demoLog is idle with the reference hose off, then on, then three pulls from
// 2500 to 7000 rpm at 1.2 bar of boost, 50 readings a second.
func demoLog() []byte {
	const rate = 50
	var b bytes.Buffer
	b.WriteString("time [s],rpm [1/min],MAP [kPa],Fuel P [bar],PW [ms],lambda [lambda],lambda target [lambda],battery [V],pump V [V]\n")
	for i := range int(rate * demoEnd) {
		t := float64(i) / rate
		noise := math.Sin(37*t) + math.Sin(91.7*t+1)
		rpm, manifold, target, volts := 900.0, 33.6, 1.0, 13.9
		if since := math.Mod(t-demoPulls, demoPull+demoGap); t > demoPulls {
			rpm, manifold = 2500, 60
			if since < demoPull {
				share := since / demoPull
				rpm, target, volts = 2500+4500*share, 0.80, 13.9-0.1*share
				manifold += 161 * math.Min(1, share*2.5)
			}
		}
		rail := 3.00 + (manifold-101.3)/100
		if t < demoHoseOn {
			rail = 3.00
		}
		pulse := 1.6 + 9.3*(manifold-33.6)/(221-33.6)
		fmt.Fprintf(&b, "%.2f,%.0f,%.1f,%.3f,%.2f,%.3f,%.2f,%.2f,%.2f\n",
			t, rpm, manifold+0.2*noise, rail+0.008*noise, pulse, target+0.004*noise, target, volts, volts-0.35)
	}
	return b.Bytes()
}
