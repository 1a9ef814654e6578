using System.Runtime.InteropServices;

namespace WashBridge.Analysis.Charts;

/// <summary>Many numbers as one string of a snapshot: little-endian single precision or 32-bit integers in base64.</summary>
internal static class Blob
{
    public static string Of(IReadOnlyCollection<float> values) => Convert.ToBase64String(MemoryMarshal.AsBytes<float>(values.ToArray()));

    public static string Of(IReadOnlyCollection<int> values) => Convert.ToBase64String(MemoryMarshal.AsBytes<int>(values.ToArray()));

    /// <exception cref="FormatException">Not base64.</exception>
    public static List<float> Floats(string text) => [.. MemoryMarshal.Cast<byte, float>(Convert.FromBase64String(text))];

    /// <exception cref="FormatException">Not base64.</exception>
    public static List<int> Integers(string text) => [.. MemoryMarshal.Cast<byte, int>(Convert.FromBase64String(text))];
}
