package photo

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"hash/crc32"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// held lists the photos that testdata/make.py made with Pillow and ExifTool.
func held(t testing.TB) []string {
	t.Helper()
	files, err := filepath.Glob("testdata/held-*.*")
	if err != nil || len(files) != 16 {
		t.Fatalf("%d photos, %v: want each of eight orientations as JPEG and PNG", len(files), err)
	}
	return files
}

func read(t testing.TB, file string) []byte {
	t.Helper()
	content, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	return content
}

// quarters are the colours of the test photos when looked at upright, as Pillow's ImageOps.exif_transpose turns them.
var quarters = map[image.Point]color.NRGBA{
	{20, 12}: {255, 0, 0, 255}, {70, 12}: {0, 255, 0, 255}, {20, 50}: {0, 0, 255, 255}, {70, 50}: {255, 255, 0, 255},
}

func TestPhotosAreUprightHoweverTheCameraWasHeld(t *testing.T) {
	for _, file := range held(t) {
		c, err := Working(bytes.NewReader(read(t, file)))
		if err != nil {
			t.Errorf("%s: %v", file, err)
			continue
		}
		if c.Width != 96 || c.Height != 64 {
			t.Errorf("%s: %d x %d, want 96 x 64", file, c.Width, c.Height)
			continue
		}
		img, format, err := image.Decode(bytes.NewReader(c.Bytes))
		if err != nil || "image/"+format != c.Type {
			t.Errorf("%s: %s says it is %s, %v", file, format, c.Type, err)
			continue
		}
		for at, want := range quarters {
			if got := color.NRGBAModel.Convert(img.At(at.X, at.Y)).(color.NRGBA); far(got.R, want.R) || far(got.G, want.G) || far(got.B, want.B) {
				t.Errorf("%s: %v at %v, want %v", file, got, at, want)
			}
		}
	}
}

func far(a, b uint8) bool { return max(a, b)-min(a, b) > 30 }

// Nothing is left but what draws the picture: no APPn, no COM (ITU-T T.81 B.1.1.3); of PNG's chunks the critical ones and tRNS (PNG
// specification, section 5.6). ExifTool, where it is installed, finds nothing either.
func TestMetadataIsLeftBehind(t *testing.T) {
	secrets := []string{"INVENTED-1", "Nowhere", "invented", "Exif", "GPS"}
	for _, file := range held(t) {
		content := read(t, file)
		if !bytes.Contains(content, []byte("INVENTED-1")) {
			t.Fatalf("%s holds no serial number: the test does not test", file)
		}
		c, err := Working(bytes.NewReader(content))
		if err != nil {
			t.Fatal(err)
		}
		for _, s := range secrets {
			if bytes.Contains(c.Bytes, []byte(s)) {
				t.Errorf("%s: the working copy still says %q", file, s)
			}
		}
		parts := jpegMarkers(t, c.Bytes)
		if c.Type == "image/png" {
			parts = pngChunks(t, c.Bytes)
		}
		for _, p := range parts {
			if !strings.Contains(" DB C0 C2 C4 DA IHDR PLTE tRNS IDAT IEND ", " "+p+" ") {
				t.Errorf("%s: the working copy has a part %s", file, p)
			}
		}
		if len(parts) < 3 {
			t.Errorf("%s: only %v found", file, parts)
		}
		askExifTool(t, c)
	}
}

func askExifTool(t *testing.T, c Copy) {
	t.Helper()
	tool, err := exec.LookPath("exiftool")
	if err != nil {
		return
	}
	cmd := exec.Command(tool, "-EXIF:all", "-XMP:all", "-GPS:all", "-Comment", "-")
	cmd.Stdin = bytes.NewReader(c.Bytes)
	if out, err := cmd.CombinedOutput(); err != nil || len(bytes.TrimSpace(out)) > 0 {
		t.Errorf("exiftool finds %s, %v", out, err)
	}
}

// jpegMarkers lists the segments before the picture's data.
func jpegMarkers(t *testing.T, b []byte) []string {
	t.Helper()
	var found []string
	if !bytes.HasPrefix(b, []byte{0xff, 0xd8}) {
		return nil
	}
	for at := 2; at+4 <= len(b); {
		found = append(found, fmt.Sprintf("%X", b[at+1]))
		if b[at+1] == 0xda {
			break
		}
		at += 2 + int(binary.BigEndian.Uint16(b[at+2:]))
	}
	return found
}

func pngChunks(t *testing.T, b []byte) []string {
	t.Helper()
	var found []string
	for at := 8; at+8 <= len(b); at += 12 + int(binary.BigEndian.Uint32(b[at:])) {
		found = append(found, string(b[at+4:at+8]))
	}
	return found
}

// noise is a picture that packs as badly as one can.
func noise(w, h int) *image.NRGBA {
	img := image.NewNRGBA(image.Rect(0, 0, w, h))
	_, _ = rand.NewChaCha8([32]byte{1}).Read(img.Pix) // never fails
	for i := 3; i < len(img.Pix); i += 4 {
		img.Pix[i] = 255
	}
	return img
}

func TestWorkingCopyIsSmall(t *testing.T) {
	for name, encode := range map[string]func(*bytes.Buffer) error{
		"jpeg": func(out *bytes.Buffer) error { return jpeg.Encode(out, noise(2400, 1800), &jpeg.Options{Quality: 90}) },
		"png":  func(out *bytes.Buffer) error { return png.Encode(out, noise(700, 2100)) },
	} {
		var in bytes.Buffer
		if err := encode(&in); err != nil {
			t.Fatal(err)
		}
		c, err := Working(bytes.NewReader(in.Bytes()))
		if err != nil {
			t.Fatal(err)
		}
		if len(c.Bytes) > MaxBytes || max(c.Width, c.Height) > MaxEdge || min(c.Width, c.Height) < 300 {
			t.Errorf("%s of %d bytes: the working copy has %d bytes, %d x %d", name, in.Len(), len(c.Bytes), c.Width, c.Height)
		}
	}
}

// A line one pixel wide in a file twice as large as the copy keeps half its darkness: each pixel counts.
func TestShrinkingTakesTheMean(t *testing.T) {
	img := image.NewGray(image.Rect(0, 0, 2*MaxEdge, 64))
	for i := range img.Pix {
		img.Pix[i] = 200
	}
	for y := range 64 {
		img.SetGray(1001, y, color.Gray{0})
	}
	small := fit(img, MaxEdge)
	if b := small.Bounds(); b.Dx() != MaxEdge || b.Dy() != 32 {
		t.Fatalf("shrunk to %v", b)
	}
	if got := color.GrayModel.Convert(small.At(500, 10)).(color.Gray).Y; got < 98 || got > 102 {
		t.Errorf("the line is %d, want the mean of 0 and 200", got)
	}
}

func TestTransparentPhotoLiesOnWhite(t *testing.T) {
	const side = 1000
	img := noise(side, side)
	for i := range side * side / 2 { // the lower half stays noise, so that PNG is too large
		img.Pix[4*i+3] = 0
	}
	var in bytes.Buffer
	if err := png.Encode(&in, img); err != nil {
		t.Fatal(err)
	}
	c, err := Working(bytes.NewReader(in.Bytes()))
	if err != nil || c.Type != "image/jpeg" {
		t.Fatalf("%s, %v", c.Type, err)
	}
	got, err := jpeg.Decode(bytes.NewReader(c.Bytes))
	if err != nil {
		t.Fatal(err)
	}
	if r, g, b, _ := got.At(c.Width/2, 10).RGBA(); min(r, g, b) < 0xf000 {
		t.Errorf("the transparent part is %d %d %d, want white", r>>8, g>>8, b>>8)
	}
}

// header is a PNG that says it has so many pixels, and nothing else.
func header(w, h uint32) []byte {
	chunk := []byte("IHDR")
	chunk = binary.BigEndian.AppendUint32(chunk, w)
	chunk = binary.BigEndian.AppendUint32(chunk, h)
	chunk = append(chunk, 8, 6, 0, 0, 0)
	out := binary.BigEndian.AppendUint32([]byte("\x89PNG\r\n\x1a\n"), 13)
	out = append(out, chunk...)
	return binary.BigEndian.AppendUint32(out, crc32.ChecksumIEEE(chunk))
}

func TestWhatIsRefused(t *testing.T) {
	whole := read(t, "testdata/held-1.jpg")
	huge := bytes.Clone(whole)
	at := bytes.Index(huge, []byte{0xff, 0xc0}) // start of frame: length 2, precision 1, lines 2, samples 2
	copy(huge[at+5:], []byte{0xff, 0xff, 0xff, 0xff})
	for name, c := range map[string]struct {
		content []byte
		says    string
	}{
		"huge PNG":       {header(60_000, 60_000), "60000 x 60000"},
		"huge JPEG":      {huge, "65535 x 65535"},
		"cut short":      {whole[:len(whole)/2], "cannot be read"},
		"no photo":       {[]byte("this is no photo"), "cannot be read"},
		"nothing":        {nil, "cannot be read"},
		"header, no end": {header(10, 10), "cannot be read"},
	} {
		if got, err := Working(bytes.NewReader(c.content)); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %d x %d, %v", name, got.Width, got.Height, err)
		}
	}
}

func TestIs(t *testing.T) {
	for _, file := range held(t) {
		if !Is(read(t, file)) {
			t.Errorf("%s is not taken for a photo", file)
		}
	}
	for _, other := range []string{"", "GIF89a", "%PDF-1.7", "Time,RPM"} {
		if Is([]byte(other)) {
			t.Errorf("%q is taken for a photo", other)
		}
	}
}

// Whatever comes in, what goes out is a photo within its bounds.
func FuzzWorking(f *testing.F) {
	for _, file := range held(f) {
		f.Add(read(f, file))
	}
	f.Fuzz(func(t *testing.T, content []byte) {
		if config, _, err := image.DecodeConfig(bytes.NewReader(content)); err == nil && config.Width*config.Height > 1<<20 {
			return // slow, and no other than a small one; what claims more is refused in TestWhatIsRefused
		}
		c, err := Working(bytes.NewReader(content))
		if err != nil {
			return
		}
		if config, _, err := image.DecodeConfig(bytes.NewReader(c.Bytes)); err != nil || config.Width != c.Width || config.Height != c.Height || len(c.Bytes) > MaxBytes {
			t.Errorf("%d bytes, %d x %d: %v", len(c.Bytes), c.Width, c.Height, err)
		}
	})
}
