using System.Security.Cryptography;
using System.Security.Cryptography.X509Certificates;

namespace WashBridge.Configuration.Binding;

/// <summary>A PEM file with the authorities that may vouch for whom we connect to.</summary>
internal static class AuthoritiesBinder
{
    private const string Key = "ca";

    /// <param name="whom">As in a sentence, such as <c>the broker</c>.</param>
    /// <returns>Empty where the key is left out.</returns>
    public static IReadOnlyList<X509Certificate2> Bind(MapBinder map, string whom)
    {
        if (map.OptionalText(Key, TextForms.Line) is not { } file)
        {
            return [];
        }

        var form = $"a PEM file with the certificates of the authorities that may vouch for {whom}";
        try
        {
            var all = new X509Certificate2Collection();
            all.ImportFromPemFile(SourceFiles.Resolve(map.Place.File, file));
            if (all.Count > 0)
            {
                return [.. all];
            }

            map.Problems.Add(map.PlaceOf(Key), "the file holds no certificate", $"\"{file}\"", form);
        }
        catch (Exception e) when (e is FileNotFoundException or DirectoryNotFoundException)
        {
            map.Problems.Add(map.PlaceOf(Key), "there is no such file", $"\"{file}\"", form);
        }
        catch (Exception e) when (e is CryptographicException or IOException or UnauthorizedAccessException)
        {
            map.Problems.Add(map.PlaceOf(Key), $"the file cannot be read: {e.Message}", $"\"{file}\"", form);
        }

        return [];
    }
}
