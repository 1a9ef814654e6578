using System.Security.Cryptography;

namespace WashBridge.Protocols.OpcUa.Security;

/// <summary>Our own certificate and private key.</summary>
public sealed partial class PkiStore
{
    private const int MaxKeyFileBytes = 64 * 1024;

    /// <summary>
    /// Our certificate: made at the first start, afterwards the one in the files, whoever put it there. If only the key is there, a certificate
    /// is made for it. The key file is in PEM form, for its owner alone (mode 0600).
    /// </summary>
    /// <exception cref="PkiException">
    /// A file cannot be read or written, others can read the key, the key is missing or belongs to another certificate, or either is not usable.
    /// </exception>
    public ApplicationCertificate LoadOrCreateOwn(CertificateRequestData request, TimeProvider time)
    {
        request.Validate();
        var (certificateFile, keyFile) = (FullPath(OwnCertificateFile), FullPath(OwnKeyFile));
        try
        {
            lock (guard)
            {
                if (File.Exists(certificateFile) && !File.Exists(keyFile))
                {
                    throw new PkiException($"{certificateFile} is there but its private key {keyFile} is not: put the key back, or move the certificate away to have both made anew");
                }

                if (!File.Exists(keyFile))
                {
                    using var made = RSA.Create(request.KeyBits);
                    PrivateFile.TryCreate(keyFile, System.Text.Encoding.ASCII.GetBytes(made.ExportPkcs8PrivateKeyPem()), isPrivate: true);
                }

                // Another process may have been first: what counts is in the files.
                var key = ReadKey(keyFile);
                if (!File.Exists(certificateFile))
                {
                    // Not disposed of, because the key is used on.
                    var created = ApplicationCertificate.CreateSelfSigned(request, time, key);
                    PrivateFile.TryCreate(certificateFile, created.Der.Span, isPrivate: false);
                }

                return Load(certificateFile, key);
            }
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            throw new PkiException($"our own certificate in {Root} can be neither read nor written: {e.Message}", e);
        }
    }

    internal static RSA ReadKey(string file)
    {
        if ((PrivateFile.Problem(Path.GetDirectoryName(file)!) ?? PrivateFile.Problem(file)) is { } problem)
        {
            throw new PkiException($"the private key is not used, because others may have read or replaced it: {problem}. If anybody else uses this machine, make a new key");
        }

        var key = RSA.Create();
        try
        {
            if (new FileInfo(file).Length > MaxKeyFileBytes)
            {
                throw new CryptographicException($"longer than {MaxKeyFileBytes} bytes");
            }

            key.ImportFromPem(File.ReadAllText(file));
            return key;
        }
        catch (Exception e) when (e is CryptographicException or ArgumentException)
        {
            key.Dispose();
            throw new PkiException($"{file} is not an unencrypted RSA private key in PEM form (PKCS #8 or PKCS #1): {e.Message}", e);
        }
    }

    private ApplicationCertificate Load(string certificateFile, RSA key)
    {
        var file = ownFolder.Read().FirstOrDefault(file => file.Path == certificateFile);
        if (file?.Content is not { } certificate)
        {
            throw new PkiException($"{certificateFile}: {file?.Problem ?? "it is not there any more"}");
        }

        if (!certificate.BelongsTo(key))
        {
            throw new PkiException($"{certificateFile} does not belong to the private key {FullPath(OwnKeyFile)}: put the right pair there, or move the certificate away to have one made for the key");
        }

        return new ApplicationCertificate(ParsedCertificate.Parse(certificate.Der.Span), key, IssuersOf(certificate));
    }

    /// <summary>As far as the store knows them; peers look for the rest themselves.</summary>
    private List<ParsedCertificate> IssuersOf(ParsedCertificate certificate)
    {
        var content = Read();
        var chain = ChainBuilder.Build(certificate, [.. content.Trusted, .. content.Issuers]);
        return [.. chain.Certificates.Skip(1)];
    }
}
