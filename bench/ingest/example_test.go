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

func ExampleReadSeries() {
	text := "time,400,410,420,430\n0:00,0.1,0.2,0.1,0.0\n0:30,0.3,0.6,0.3,0.1\n1:00,0.4,0.8,OL,0.1\n"
	series, err := ingest.ReadSeries("run-up.csv", strings.NewReader(text), ingest.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	for i, t := range series.Times {
		fmt.Println(t, "s:", series.Values[i])
	}
	fmt.Println(series.Report.Sentences()[0])
	for _, s := range series.Report.Warnings {
		fmt.Println("Warning:", s)
	}
	// Output:
	// 0 s: [0.1 0.2 0.1 0]
	// 30 s: [0.3 0.6 0.3 0.1]
	// Series of 2 over 30 s, rows over time (times: clock), in UTF-8, columns apart by comma, decimal point; 2 rows from line 2 on, 400–430 nm.
	// Warning: 1 row skipped, the first at line 4: it lacks a value
	// Warning: times such as “0:00” are read as minutes and seconds
}
