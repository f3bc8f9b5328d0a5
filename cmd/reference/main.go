// Command reference writes the manual pages and the reference of the commands.
package main

import (
	"log"
	"os"

	"feedproof/cmd/internal/reference"
)

func main() {
	if err := reference.Write(os.Args[1]); err != nil {
		log.Fatal(err)
	}
}
