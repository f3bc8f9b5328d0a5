package release

import (
	"archive/tar"
	"archive/zip"
	"bytes"
	"cmp"
	"compress/gzip"
	"slices"
	"strings"
	"time"
)

// sorted are files by name: an archive has one order.
func sorted(files []file) []file {
	return slices.SortedFunc(slices.Values(files), func(a, b file) int { return cmp.Compare(a.name, b.name) })
}

// tarred packs files under one folder. Owners are left out, and every file is as
// old as the commit.
func tarred(base string, files []file, moment time.Time) ([]byte, error) {
	var out bytes.Buffer
	packed, _ := gzip.NewWriterLevel(&out, gzip.BestCompression) // fails for a level that there is not
	t := tar.NewWriter(packed)
	for _, f := range sorted(files) {
		h := &tar.Header{Typeflag: tar.TypeReg, Name: base + "/" + f.name, Mode: int64(f.mode), Size: int64(len(f.data)), ModTime: moment, Format: tar.FormatUSTAR}
		if err := t.WriteHeader(h); err != nil {
			return nil, err
		}
		if _, err := t.Write(f.data); err != nil {
			return nil, err
		}
	}
	err := cmp.Or(t.Close(), packed.Close())
	return out.Bytes(), err
}

// zipped is the same as a zip file, for Windows.
func zipped(base string, files []file, moment time.Time) ([]byte, error) {
	var out bytes.Buffer
	z := zip.NewWriter(&out)
	for _, f := range sorted(files) {
		h := &zip.FileHeader{Name: base + "/" + f.name, Method: zip.Deflate, Modified: moment}
		h.SetMode(f.mode)
		w, err := z.CreateHeader(h)
		if err != nil {
			return nil, err
		}
		if _, err := w.Write(f.data); err != nil {
			return nil, err
		}
	}
	err := z.Close()
	return out.Bytes(), err
}

// gzipped is one file packed, without its name and time.
func gzipped(data []byte) ([]byte, error) {
	var out bytes.Buffer
	packed, _ := gzip.NewWriterLevel(&out, gzip.BestCompression)
	_, err := packed.Write(data)
	err = cmp.Or(err, packed.Close())
	return out.Bytes(), err
}

// startScript is what people on Windows click.
const startScript = "start-feedproof.cmd"

// start opens a window in which feedproof is a command, in the folder that shops
// are likely to be in.
const start = `@echo off
rem Opens a window in which "feedproof" is a command. Nothing is installed or changed.
chcp 65001 >nul
set "PATH=%~dp0;%PATH%"
cd /d "%USERPROFILE%"
title feedproof
feedproof --version
echo.
echo feedproof demo                     an invented shop, one car from intake to sign-off
echo feedproof shop new DIR --lead NAME a shop of your own
echo feedproof --help                   every command
echo.
cmd /k
`

// windowsLines ends lines as the command interpreter of Windows wants it.
func windowsLines(text string) []byte { return []byte(strings.ReplaceAll(text, "\n", "\r\n")) }
