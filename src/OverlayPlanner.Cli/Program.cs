using OverlayPlanner.Cli;

Console.OutputEncoding = new System.Text.UTF8Encoding(encoderShouldEmitUTF8Identifier: false);
return await OverlayPlannerProgram.RunAsync(args, Console.Out, Console.Error);
