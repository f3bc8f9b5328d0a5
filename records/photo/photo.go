// Package photo makes the working copy of a photo: upright, small, and without the metadata that says where it was taken.
//
// Use Is, then Working. The pixels are decoded and written anew, so nothing but them is left of the file. Formats other than JPEG and PNG
// are deliberately absent: there is no decoder in plain Go for what some phones write.
package photo

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"io"

	"github.com/bep/imagemeta"
	"golang.org/x/image/draw"
	"golang.org/x/image/math/f64"
)

// Bounds of a photo and of its working copy.
const (
	MaxPixels = 65_000_000 // of the file; more is refused before it is decoded
	MaxBytes  = 400_000    // of the working copy
	MaxEdge   = 2048       // pixels of the working copy's longer edge
)

// Copy is a working copy.
type Copy struct {
	Bytes         []byte
	Type          string // media type
	Width, Height int    // pixels, as it is looked at
}

// formats are what Working reads, by the name that package image has for them.
var formats = map[string]imagemeta.ImageFormat{"jpeg": imagemeta.JPEG, "png": imagemeta.PNG}

// Is reports whether a file that begins so is a photo that Working reads.
func Is(begin []byte) bool {
	return bytes.HasPrefix(begin, []byte("\xff\xd8\xff")) || bytes.HasPrefix(begin, []byte("\x89PNG\r\n\x1a\n"))
}

// Working makes the working copy: turned as the camera was held, at most MaxEdge pixels on its longer edge and MaxBytes long, as JPEG, or as
// PNG when it was one and is small enough. A photo of more than MaxPixels is refused by its header alone.
func Working(in io.ReadSeeker) (Copy, error) {
	config, format, err := image.DecodeConfig(in)
	if err != nil {
		return Copy{}, fmt.Errorf("photo: cannot be read: %w", err)
	}
	if int64(config.Width)*int64(config.Height) > MaxPixels {
		return Copy{}, fmt.Errorf("photo: has %d x %d pixels, and at most %d million are read", config.Width, config.Height, MaxPixels/1_000_000)
	}
	turn, err := orientation(in, formats[format])
	if err != nil {
		return Copy{}, err
	}
	if _, err := in.Seek(0, io.SeekStart); err != nil {
		return Copy{}, err
	}
	pixels, _, err := image.Decode(in)
	if err != nil {
		return Copy{}, fmt.Errorf("photo: cannot be read: %w", err)
	}
	upright := turned(fit(pixels, MaxEdge), turn)
	if format == "png" {
		c, err := encodePNG(upright)
		if err != nil || len(c.Bytes) <= MaxBytes {
			return c, err
		}
	}
	return encodeJPEG(upright)
}

// orientation reads how the camera was held: 1 to 8, as EXIF 2.32 section 4.6.4 numbers them. 1, upright, when the file does not say.
func orientation(in io.ReadSeeker, format imagemeta.ImageFormat) (int, error) {
	if _, err := in.Seek(0, io.SeekStart); err != nil {
		return 0, err
	}
	held := 1
	_, _ = imagemeta.Decode(imagemeta.Options{ // metadata that cannot be read is metadata that does not say
		R: in, ImageFormat: format, Sources: imagemeta.EXIF,
		ShouldHandleTag: func(tag imagemeta.TagInfo) bool { return tag.Tag == "Orientation" && tag.Namespace == "IFD0" },
		HandleTag: func(tag imagemeta.TagInfo) error {
			if n, ok := tag.Value.(uint16); ok && n >= 1 && n <= 8 {
				held = int(n)
			}
			return imagemeta.ErrStopWalking
		},
	})
	return held, nil
}

// fit shrinks an image until its longer edge has at most so many pixels. Halving by bilinear sampling takes the mean of each four.
func fit(src image.Image, edge int) image.Image {
	for {
		b := src.Bounds()
		long := max(b.Dx(), b.Dy())
		if long <= edge {
			return src
		}
		to := max(edge, (long+1)/2)
		dst := image.NewNRGBA(image.Rect(0, 0, max(1, b.Dx()*to/long), max(1, b.Dy()*to/long)))
		draw.ApproxBiLinear.Scale(dst, dst.Bounds(), src, b, draw.Src, nil)
		src = dst
	}
}

// turns map a pixel of the file to where it is looked at, for a file of width w and height h.
var turns = map[int]func(w, h float64) f64.Aff3{
	2: func(w, _ float64) f64.Aff3 { return f64.Aff3{-1, 0, w, 0, 1, 0} },
	3: func(w, h float64) f64.Aff3 { return f64.Aff3{-1, 0, w, 0, -1, h} },
	4: func(_, h float64) f64.Aff3 { return f64.Aff3{1, 0, 0, 0, -1, h} },
	5: func(_, _ float64) f64.Aff3 { return f64.Aff3{0, 1, 0, 1, 0, 0} },
	6: func(_, h float64) f64.Aff3 { return f64.Aff3{0, -1, h, 1, 0, 0} },
	7: func(w, h float64) f64.Aff3 { return f64.Aff3{0, -1, h, -1, 0, w} },
	8: func(w, _ float64) f64.Aff3 { return f64.Aff3{0, 1, 0, -1, 0, w} },
}

func turned(src image.Image, orientation int) image.Image {
	turn, is := turns[orientation]
	if !is {
		return src
	}
	b := src.Bounds()
	w, h := b.Dx(), b.Dy()
	to := image.Rect(0, 0, w, h)
	if orientation >= 5 {
		to = image.Rect(0, 0, h, w)
	}
	dst := image.NewNRGBA(to)
	draw.NearestNeighbor.Transform(dst, turn(float64(w), float64(h)), src, b, draw.Src, nil)
	return dst
}

func encodePNG(src image.Image) (Copy, error) {
	var out bytes.Buffer
	err := (&png.Encoder{CompressionLevel: png.BestCompression}).Encode(&out, src)
	return Copy{out.Bytes(), "image/png", src.Bounds().Dx(), src.Bounds().Dy()}, err
}

// qualities are tried from the best down, before the image is made smaller.
var qualities = []int{85, 75, 65, 55}

func encodeJPEG(src image.Image) (Copy, error) {
	src = onWhite(src)
	for edge := MaxEdge; ; edge = edge * 3 / 4 {
		src = fit(src, edge)
		for _, q := range qualities {
			var out bytes.Buffer
			if err := jpeg.Encode(&out, src, &jpeg.Options{Quality: q}); err != nil {
				return Copy{}, err
			}
			if out.Len() <= MaxBytes {
				return Copy{out.Bytes(), "image/jpeg", src.Bounds().Dx(), src.Bounds().Dy()}, nil
			}
		}
	}
}

// onWhite lays a transparent image on white, as JPEG knows no transparency.
func onWhite(src image.Image) image.Image {
	if o, ok := src.(interface{ Opaque() bool }); ok && o.Opaque() {
		return src
	}
	dst := image.NewRGBA(src.Bounds())
	draw.Draw(dst, dst.Bounds(), image.NewUniform(color.White), image.Point{}, draw.Src)
	draw.Draw(dst, dst.Bounds(), src, src.Bounds().Min, draw.Over)
	return dst
}
