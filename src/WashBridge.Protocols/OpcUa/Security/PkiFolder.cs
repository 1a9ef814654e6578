using System.Security.Cryptography;

namespace WashBridge.Protocols.OpcUa.Security;

/// <summary>One file: what it holds, or why that cannot be used.</summary>
internal sealed record PkiFile<T>(string Path, T? Content, string? Problem)
    where T : class;

/// <summary>
/// The files of one folder, read again when their size or time changes, so that what people put there counts at once. Not thread safe.
/// </summary>
internal sealed class PkiFolder<T>(string path, int maxBytes, string pemLabel, Func<byte[], T> parse)
    where T : class
{
    /// <summary>More than these are not looked at, and it is said so.</summary>
    public const int MaxFiles = 1000;

    private Dictionary<string, (long Length, DateTime Written, PkiFile<T> File)> known = [];

    public string Path => path;

    /// <summary>In the order of their names. Hidden files, such as those being written, are left out.</summary>
    public IReadOnlyList<PkiFile<T>> Read()
    {
        var files = new DirectoryInfo(path).EnumerateFiles().Where(file => file.Name[0] != '.').Take(MaxFiles + 1).ToList();
        Dictionary<string, (long, DateTime, PkiFile<T>)> current = [];
        foreach (var file in files.Take(MaxFiles))
        {
            try
            {
                var (length, written) = (file.Length, file.LastWriteTimeUtc);
                current[file.FullName] = known.TryGetValue(file.FullName, out var last) && (last.Length, last.Written) == (length, written)
                    ? last
                    : (length, written, Load(file.FullName, length));
            }
            catch (FileNotFoundException)
            {
                // Moved away since the folder was read.
            }
        }

        known = current;
        var read = current.Values.Select(entry => entry.Item3).OrderBy(file => file.Path, StringComparer.Ordinal);
        return files.Count <= MaxFiles ? [.. read] : [.. read, new PkiFile<T>(path, null, $"more than {MaxFiles} files; the rest is not looked at")];
    }

    private PkiFile<T> Load(string file, long length)
    {
        try
        {
            return length <= maxBytes
                ? new PkiFile<T>(file, parse(Pem.ToDer(File.ReadAllBytes(file), pemLabel)), null)
                : new PkiFile<T>(file, null, $"{length} bytes; allowed: up to {maxBytes}");
        }
        catch (Exception e) when (e is CryptographicException or IOException or UnauthorizedAccessException)
        {
            return new PkiFile<T>(file, null, $"cannot be used: {e.Message}");
        }
    }
}
