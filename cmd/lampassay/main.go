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
	// Who asks a second time does not want to wait for the end in good order.
	context.AfterFunc(ctx, stop)
	code := cli.Main(ctx, os.Args[1:], os.Stdin, os.Stdout, os.Stderr)
	stop()
	os.Exit(code)
}
