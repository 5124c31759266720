using OverlayPlanner.Benchmarks;

return Bench.Run(args);
