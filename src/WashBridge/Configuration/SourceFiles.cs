using System.Text;
using WashBridge.Configuration.Binding;
using WashBridge.Configuration.Yaml;

namespace WashBridge.Configuration;

/// <summary>The files and environment variables that a configuration is made of. Each file is read once.</summary>
internal sealed class SourceFiles(Func<string, string?> environment)
{
    /// <summary>A configuration is written by people: anything larger is a mistake.</summary>
    public const int MaxFileBytes = 4 * 1024 * 1024;

    private const int MaxSecretBytes = 64 * 1024;

    private static readonly UTF8Encoding Utf8 = new(encoderShouldEmitUTF8Identifier: false, throwOnInvalidBytes: true);

    private readonly Dictionary<string, YamlNode?> files = [];
    private readonly List<string> read = [];

    public ProblemList Problems { get; } = new();

    /// <summary>What is allowed but should be known.</summary>
    public ProblemList Warnings { get; } = new();

    public IReadOnlyList<string> Read => read;

    public MapBinder? ReadRoot(string path) => ReadMap(path, new Place(path, 1, 1, ""));

    /// <summary>The file that <paramref name="reference"/> names, relative to the file it stands in.</summary>
    public MapBinder? ReadReferenced(YamlNode? reference)
    {
        if (reference is null || Scalars.Text(reference, TextForms.Line, Problems) is not { } path)
        {
            return null;
        }

        return ReadMap(Resolve(reference.Place.File, path), reference.Place);
    }

    public string? EnvironmentVariable(string name) => environment(name);

    /// <summary>A file beside the configuration that holds nothing but a secret. Null: reported at <paramref name="reference"/>.</summary>
    public string? ReadSecret(string path, Place reference)
    {
        var secret = ReadText(Resolve(reference.File, path), MaxSecretBytes, reference)?.TrimEnd('\r', '\n');
        if (secret is { Length: 0 })
        {
            Problems.Add(reference, "the file that should hold the secret is empty", $"\"{path}\"", "a file with the secret as its only line");
            return null;
        }

        return secret;
    }

    /// <summary>A path named in a file, seen from where the program runs.</summary>
    public static string Resolve(string file, string path)
    {
        var combined = Path.Combine(Path.GetDirectoryName(file) ?? "", path);
        return Path.IsPathRooted(combined) ? Path.GetFullPath(combined) : Path.GetRelativePath(".", combined);
    }

    private MapBinder? ReadMap(string path, Place reference)
    {
        var key = Path.GetFullPath(path);
        if (!files.TryGetValue(key, out var root))
        {
            files[key] = root = ReadText(path, MaxFileBytes, reference) is { } text ? YamlReader.Read(path, text, Problems) : null;
            read.Add(path);
        }

        return MapBinder.Of(root, Problems);
    }

    private string? ReadText(string path, int most, Place reference)
    {
        try
        {
            using var stream = File.OpenRead(path);
            if (stream.Length > most)
            {
                Problems.Add(reference, $"the file {path} is too large", $"{stream.Length} bytes", $"at most {most} bytes");
                return null;
            }

            using var reader = new StreamReader(stream, Utf8);
            return reader.ReadToEnd();
        }
        catch (Exception e) when (e is FileNotFoundException or DirectoryNotFoundException)
        {
            Problems.Add(reference, "there is no such file", $"\"{path}\"", "a file that exists, named relative to the file that names it");
        }
        catch (DecoderFallbackException)
        {
            Problems.Add(reference, $"the file {path} is not UTF-8 text", "other bytes", "save it as UTF-8");
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException or NotSupportedException or ArgumentException)
        {
            Problems.Add(reference, $"the file {path} cannot be read: {e.Message}", $"\"{path}\"", "a file that this user may read");
        }

        return null;
    }
}
