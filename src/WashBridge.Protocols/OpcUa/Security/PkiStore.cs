namespace WashBridge.Protocols.OpcUa.Security;

/// <summary>
/// Certificates, keys and revocation lists as files in the folders that are usual for OPC UA (compare Part 12, 7.8.2): own/certs, own/private,
/// trusted/certs, trusted/crl, issuers/certs, issuers/crl, rejected/certs. What is put there or taken away counts at the next validation.
/// Certificates and lists may be in DER or PEM form. Safe to use from several threads and processes.
/// </summary>
public sealed partial class PkiStore
{
    /// <summary>Most files in rejected/certs; the oldest go first, because any stranger can have one saved.</summary>
    public const int MaxRejected = 50;

    /// <summary>Most certificates that are newly saved to rejected/certs within an hour, so that strangers cannot keep the disk busy.</summary>
    public const int MaxRejectedPerHour = 100;

    internal const string OwnCertificateFile = "own/certs/application.der";
    internal const string OwnKeyFile = "own/private/application.pem";

    private readonly Lock guard = new();
    private readonly PkiFolder<ParsedCertificate> ownFolder;
    private readonly PkiFolder<ParsedCertificate> trustedFolder;
    private readonly PkiFolder<ParsedCertificate> issuersFolder;
    private readonly PkiFolder<ParsedCertificate> rejectedFolder;
    private readonly PkiFolder<RevocationList>[] listFolders;
    private readonly TimeProvider time;
    private DateTimeOffset savingSince;
    private int saved;

    private PkiStore(string root, TimeProvider time)
    {
        Root = root;
        this.time = time;
        ownFolder = Certificates("own");
        trustedFolder = Certificates("trusted");
        issuersFolder = Certificates("issuers");
        rejectedFolder = Certificates("rejected");
        listFolders = [Lists("trusted"), Lists("issuers")];
    }

    /// <summary>Full path of the folder that holds the others.</summary>
    public string Root { get; }

    /// <summary>Where the certificates lie that a message speaks of.</summary>
    public string TrustedFolder => trustedFolder.Path;

    public string IssuersFolder => issuersFolder.Path;

    public string RejectedFolder => rejectedFolder.Path;

    /// <summary>Makes the folders that are missing: the root and own/private for the owner alone.</summary>
    /// <param name="time">By which <see cref="List"/> says what has ended; the system's by default.</param>
    /// <exception cref="PkiException">A folder cannot be made.</exception>
    public static PkiStore Open(string root, TimeProvider? time = null)
    {
        var store = new PkiStore(Path.GetFullPath(root), time ?? TimeProvider.System);
        try
        {
            PrivateFile.CreateFolder(store.Root);
            PrivateFile.CreateFolder(Path.GetDirectoryName(store.FullPath(OwnKeyFile))!);
            string[] others = [store.ownFolder.Path, store.TrustedFolder, store.IssuersFolder, store.RejectedFolder, .. store.listFolders.Select(folder => folder.Path)];
            foreach (var folder in others)
            {
                Directory.CreateDirectory(folder);
            }

            return store;
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            throw new PkiException($"the certificate store {store.Root} cannot be made: {e.Message}", e);
        }
    }

    /// <summary>Every file of the store, those that cannot be used among them.</summary>
    public IReadOnlyList<StoredCertificate> List()
    {
        lock (guard)
        {
            List<StoredCertificate> all = [];
            foreach (var (folder, state) in Folders())
            {
                all.AddRange(folder.Read().Select(file => Describe(file, state)));
            }

            StoredState[] listStates = [StoredState.Trusted, StoredState.Issuer];
            foreach (var (folder, state) in listFolders.Zip(listStates))
            {
                all.AddRange(folder.Read().Where(file => file.Problem is not null)
                    .Select(file => new StoredCertificate(state, "", "", "", null, null, file.Path, [file.Problem!])));
            }

            return all;
        }
    }

    /// <summary>What validation goes by, as the files are now.</summary>
    internal PkiContent Read()
    {
        lock (guard)
        {
            return new PkiContent(
                Contents(trustedFolder),
                Contents(issuersFolder),
                [.. listFolders.SelectMany(folder => Contents(folder))]);
        }
    }

    private static IReadOnlyList<T> Contents<T>(PkiFolder<T> folder)
        where T : class => [.. folder.Read().Select(file => file.Content).OfType<T>()];

    private StoredCertificate Describe(PkiFile<ParsedCertificate> file, StoredState state)
    {
        if (file.Content is not { } certificate)
        {
            return new StoredCertificate(state, "", "", "", null, null, file.Path, [file.Problem!]);
        }

        List<string> problems = [];
        if (state == StoredState.Own && File.Exists(FullPath(OwnKeyFile)) && PrivateFile.Problem(FullPath(OwnKeyFile)) is { } open)
        {
            problems.Add(open);
        }

        var now = time.GetUtcNow();
        if (state == StoredState.Own && ApplicationCertificate.RenewalHint(certificate, time) is { } hint)
        {
            problems.Add(hint);
        }
        else if (now > certificate.NotAfter)
        {
            problems.Add($"ended on {certificate.NotAfter:yyyy-MM-dd}");
        }

        if (now < certificate.NotBefore)
        {
            problems.Add($"valid only from {certificate.NotBefore:yyyy-MM-dd}");
        }

        return new StoredCertificate(
            state,
            certificate.Thumbprint,
            certificate.Certificate.Subject,
            certificate.ApplicationUri,
            certificate.NotBefore,
            certificate.NotAfter,
            file.Path,
            problems);
    }

    private IEnumerable<(PkiFolder<ParsedCertificate> Folder, StoredState State)> Folders() =>
        [(ownFolder, StoredState.Own), (trustedFolder, StoredState.Trusted), (issuersFolder, StoredState.Issuer), (rejectedFolder, StoredState.Rejected)];

    private PkiFolder<ParsedCertificate> Certificates(string name) =>
        new(Path.Combine(Root, name, "certs"), 2 * ParsedCertificate.MaxBytes, "CERTIFICATE", content => ParsedCertificate.Parse(content));

    private PkiFolder<RevocationList> Lists(string name) =>
        new(Path.Combine(Root, name, "crl"), 2 * RevocationList.MaxBytes, "X509 CRL", content => RevocationList.Parse(content));

    private string FullPath(string inStore) => Path.Combine(Root, inStore.Replace('/', Path.DirectorySeparatorChar));
}

/// <summary>What the store held at one moment.</summary>
internal sealed record PkiContent(IReadOnlyList<ParsedCertificate> Trusted, IReadOnlyList<ParsedCertificate> Issuers, IReadOnlyList<RevocationList> Lists);
