using OverlayPlanner.Cli;

Console.OutputEncoding = new System.Text.UTF8Encoding(encoderShouldEmitUTF8Identifier: false);
return await CommandLine.RunAsync(args, Console.Out, Console.Error);
