[assembly: System.Runtime.CompilerServices.InternalsVisibleTo("OverlayPlanner.AcceptanceTests")]
[assembly: System.Runtime.CompilerServices.InternalsVisibleTo("OverlayPlanner.Tests")]
