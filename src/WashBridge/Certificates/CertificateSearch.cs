using WashBridge.Protocols.OpcUa.Security;

namespace WashBridge.Certificates;

/// <summary>Finds a certificate by the beginning of its thumbprint.</summary>
internal static class CertificateSearch
{
    private const int LeastDigits = 4;

    /// <param name="thumbprintOrPrefix">Blanks, colons and hyphens do not count, nor do capitals. Null: our own.</param>
    /// <exception cref="PkiException">No certificate or several begin so.</exception>
    public static StoredCertificate Find(PkiStore store, string? thumbprintOrPrefix)
    {
        var all = store.List();
        if (thumbprintOrPrefix is null)
        {
            return all.First(c => c.State == StoredState.Own);
        }

        var prefix = new string([.. thumbprintOrPrefix.Where(c => c is not (' ' or ':' or '-')).Select(char.ToUpperInvariant)]);
        if (prefix.Length is < LeastDigits or > 40 || !prefix.All(char.IsAsciiHexDigit))
        {
            throw new PkiException($"\"{thumbprintOrPrefix}\" is not a thumbprint or the beginning of one; allowed: {LeastDigits} to 40 hexadecimal digits");
        }

        var found = all.Where(c => c.Thumbprint.StartsWith(prefix, StringComparison.Ordinal)).DistinctBy(c => c.Thumbprint).ToList();
        return found.Count switch
        {
            0 => throw new PkiException($"no certificate in {store.Root} has a thumbprint that begins with {prefix}; there are: {Names(all)}"),
            1 => found[0],
            _ => throw new PkiException($"{found.Count} certificates have thumbprints that begin with {prefix}, give more digits: {Names(found)}"),
        };
    }

    private static string Names(IReadOnlyList<StoredCertificate> certificates) =>
        string.Join("; ", certificates.Where(c => c.Thumbprint.Length > 0).Take(10).Select(c => $"{c.Thumbprint} ({c.State.ToString().ToLowerInvariant()}, {c.Subject})")) is { Length: > 0 } names ? names : "none";
}
