using System.Diagnostics;
using System.Runtime.InteropServices;

namespace WashBridge.Benchmarks.Analysis.Speed;

/// <summary>Processor time of the calling thread, so that what else the machine does is not measured along; on systems without it the clock must do.</summary>
internal static class ThreadTime
{
    private const int ThreadCpuTime = 3;
    private static readonly bool IsLinux = OperatingSystem.IsLinux();

    public static string Kind => IsLinux ? "processor time of the thread" : "time by the clock";

    /// <summary>Nanoseconds since some beginning.</summary>
    public static long Now => IsLinux && clock_gettime(ThreadCpuTime, out var time) == 0 ? (time.Seconds * 1_000_000_000) + time.Nanoseconds : Stopwatch.GetTimestamp() * (1_000_000_000 / Stopwatch.Frequency);

    [DllImport("libc")]
    [DefaultDllImportSearchPaths(DllImportSearchPath.SafeDirectories)]
    private static extern int clock_gettime(int clock, out TimeSpec time);

    private struct TimeSpec
    {
        public long Seconds;
        public long Nanoseconds;
    }
}
