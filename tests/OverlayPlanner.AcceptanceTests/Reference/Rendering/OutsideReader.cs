using System.Diagnostics;

namespace OverlayPlanner.AcceptanceTests.Reference.Rendering;

/// <summary>Runs a reader from outside the project (poppler, qpdf) on a file of ours.</summary>
internal static class OutsideReader
{
    /// <summary>Standard output and the exit status; skips the test where the program is not installed.</summary>
    public static (string Output, int Status) Run(string program, params string[] arguments)
    {
        ProcessStartInfo start = new(program)
        {
            RedirectStandardOutput = true,
            RedirectStandardError = true,
            UseShellExecute = false,
        };
        foreach (string argument in arguments)
        {
            start.ArgumentList.Add(argument);
        }

        Process? process = null;
        try
        {
            process = Process.Start(start);
        }
        catch (System.ComponentModel.Win32Exception)
        {
            Assert.Skip($"{program} is not installed (Debian: poppler-utils, qpdf, hp2xx, linuxcnc-uspace).");
        }

        using (process)
        {
            Task<string> error = process!.StandardError.ReadToEndAsync();
            string output = process.StandardOutput.ReadToEnd();
            process.WaitForExit();
            return (output + error.Result, process.ExitCode);
        }
    }

    /// <summary>A folder of its own, removed when disposed.</summary>
    internal sealed class Folder : IDisposable
    {
        public Folder() => Directory.CreateDirectory(Path);

        public string Path { get; } = System.IO.Path.Combine(System.IO.Path.GetTempPath(), "sheets-" + Guid.NewGuid());

        public string Write(string name, byte[] bytes)
        {
            string path = System.IO.Path.Combine(Path, name);
            File.WriteAllBytes(path, bytes);
            return path;
        }

        public void Dispose() => Directory.Delete(Path, recursive: true);
    }
}
