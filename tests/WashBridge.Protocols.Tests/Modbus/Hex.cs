namespace WashBridge.Protocols.Tests.Modbus;

internal static class Hex
{
    /// <summary>"00 1F" to bytes.</summary>
    public static byte[] Bytes(string text) => Convert.FromHexString(text.Replace(" ", "", StringComparison.Ordinal));

    public static string Text(ReadOnlySpan<byte> bytes) => string.Join(' ', bytes.ToArray().Select(b => b.ToString("X2")));
}
