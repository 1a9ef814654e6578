using System.Security.Cryptography;
using System.Security.Cryptography.X509Certificates;
using System.Text.RegularExpressions;

namespace WashBridge.Protocols.OpcUa.Security;

/// <summary>Trusting and rejecting: certificates move between the folders.</summary>
public sealed partial class PkiStore
{
    /// <summary>Trusts the one certificate whose thumbprint begins so: its file moves to trusted/certs. Nothing happens if it is trusted already.</summary>
    /// <param name="thumbprintOrPrefix">At least 4 hexadecimal digits; blanks, colons and hyphens do not count, nor do capitals.</param>
    /// <exception cref="PkiException">No certificate or several begin so, it is our own, or the file cannot be moved.</exception>
    public StoredCertificate Trust(string thumbprintOrPrefix) => Move(thumbprintOrPrefix, trustedFolder, StoredState.Trusted);

    /// <summary>Withdraws trust in the one certificate whose thumbprint begins so: its file moves to rejected/certs.</summary>
    /// <param name="thumbprintOrPrefix">As for <see cref="Trust"/>.</param>
    /// <exception cref="PkiException">As for <see cref="Trust"/>.</exception>
    public StoredCertificate Reject(string thumbprintOrPrefix) => Move(thumbprintOrPrefix, rejectedFolder, StoredState.Rejected);

    /// <summary>Keeps a certificate that was not trusted, so that somebody can look at it and trust it. At most <see cref="MaxRejected"/> are kept.</summary>
    /// <param name="der">The end certificate alone.</param>
    /// <returns>
    /// The file; null if these are no bytes of a certificate, it cannot be written, or there were more than <see cref="MaxRejectedPerHour"/>. None of
    /// that may hinder the caller.
    /// </returns>
    public string? SaveRejected(ReadOnlyMemory<byte> der)
    {
        try
        {
            var certificate = ParsedCertificate.Parse(der.Span);
            lock (guard)
            {
                return SaveRejected(certificate);
            }
        }
        catch (Exception e) when (e is CryptographicException or IOException or UnauthorizedAccessException)
        {
            return null;
        }
    }

    private static string FileName(ParsedCertificate certificate)
    {
        var name = certificate.Certificate.GetNameInfo(X509NameType.SimpleName, forIssuer: false);
        var plain = NotPlain().Replace(name, "-").Trim('-', '.');
        return $"{(plain.Length > 40 ? plain[..40] : plain)}-{certificate.Thumbprint}.der".TrimStart('-');
    }

    [GeneratedRegex("[^A-Za-z0-9._-]+")]
    private static partial Regex NotPlain();

    private string? SaveRejected(ParsedCertificate certificate)
    {
        var known = rejectedFolder.Read().FirstOrDefault(file => file.Content?.Thumbprint == certificate.Thumbprint);
        if (known is not null)
        {
            return known.Path;
        }

        var now = time.GetUtcNow();
        if (now - savingSince >= TimeSpan.FromHours(1) || now < savingSince)
        {
            (savingSince, saved) = (now, 0);
        }

        if (saved >= MaxRejectedPerHour)
        {
            return null;
        }

        saved++;
        var kept = new DirectoryInfo(rejectedFolder.Path).GetFiles().OrderByDescending(file => file.LastWriteTimeUtc).Skip(MaxRejected - 1);
        foreach (var oldest in kept)
        {
            oldest.Delete();
        }

        var path = Path.Combine(rejectedFolder.Path, FileName(certificate));
        PrivateFile.TryCreate(path, certificate.Der.Span, isPrivate: false);
        return path;
    }

    private StoredCertificate Move(string prefix, PkiFolder<ParsedCertificate> to, StoredState state)
    {
        lock (guard)
        {
            var found = Find(prefix);
            if (found.Any(entry => entry.State == StoredState.Own))
            {
                throw new PkiException($"{found[0].File.Content!.Label} is our own certificate; nothing is to be decided about it");
            }

            try
            {
                var certificate = found[0].File.Content!;
                if (found.All(entry => entry.State != state))
                {
                    PrivateFile.TryCreate(Path.Combine(to.Path, FileName(certificate)), certificate.Der.Span, isPrivate: false);
                }

                foreach (var (file, _) in found.Where(entry => entry.State != state))
                {
                    File.Delete(file.Path);
                }

                var moved = to.Read().First(file => file.Content?.Thumbprint == certificate.Thumbprint);
                return Describe(moved, state);
            }
            catch (Exception e) when (e is IOException or UnauthorizedAccessException)
            {
                throw new PkiException($"{found[0].File.Path} cannot be moved to {to.Path}: {e.Message}", e);
            }
        }
    }

    /// <summary>All files of the one certificate meant.</summary>
    private List<(PkiFile<ParsedCertificate> File, StoredState State)> Find(string thumbprintOrPrefix)
    {
        var prefix = string.Concat(thumbprintOrPrefix.Where(c => c is not (' ' or ':' or '-'))).ToUpperInvariant();
        if (prefix.Length is < 4 or > 40 || !prefix.All(char.IsAsciiHexDigit))
        {
            throw new PkiException($"'{thumbprintOrPrefix}' is not a thumbprint or the beginning of one: 4 to 40 hexadecimal digits");
        }

        List<(PkiFile<ParsedCertificate> File, StoredState State)> found =
        [
            .. Folders().SelectMany(folder => folder.Folder.Read(), (folder, file) => (file, folder.State))
                .Where(entry => entry.file.Content?.Thumbprint.StartsWith(prefix, StringComparison.Ordinal) == true),
        ];
        var different = found.DistinctBy(entry => entry.File.Content!.Thumbprint).Select(entry => entry.File.Content!).ToList();
        return different.Count switch
        {
            0 => throw new PkiException($"no certificate in {Root} has a thumbprint that begins with {prefix}"),
            1 => found,
            _ => throw new PkiException($"{prefix} is the beginning of {different.Count} thumbprints, give more digits: {string.Join("; ", different.Take(10).Select(one => $"{one.Thumbprint} {one.Certificate.Subject}"))}"),
        };
    }
}
