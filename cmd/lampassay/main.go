// Command lampassay is the bench tool of the lamp tester. See the README.
package main

import (
	"context"
	"os"
	"os/signal"

	"lampassay/publish/cli"
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	code := cli.Main(ctx, os.Args[1:], os.Stdin, os.Stdout, os.Stderr)
	stop()
	os.Exit(code)
}
