package ingest_test

import (
	"fmt"
	"strings"

	"lampassay/bench/ingest"
)

func ExampleRead() {
	text := "Lamp: invented\nWellenlänge [nm];Bestrahlungsstärke [mW/m²/nm]\n400,0;0,12\n400,5;0,15\n401,0;OL\n401,5;0,21\n"
	file, err := ingest.Read("tube.csv", strings.NewReader(text), ingest.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, s := range file.Report.Sentences() {
		fmt.Println(s)
	}
	for _, s := range file.Report.Warnings {
		fmt.Println("Warning:", s)
	}
	// Output:
	// Text in UTF-8, columns apart by semicolon, decimal comma; 3 rows from line 3 on, 400–401.5 nm.
	// Values are read as irradiance in mW/m²/nm (the heading of column 2); samples as a curve, straight between them (the wavelengths are not those of a published table).
	// Warning: 1 row skipped, the first at line 5: “OL” stands for no value
}
