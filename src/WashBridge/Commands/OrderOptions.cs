using System.CommandLine;
using WashBridge.Configuration;
using WashBridge.Orders;

namespace WashBridge.Commands;

/// <summary>What the commands share by which people tell what they did or want.</summary>
internal sealed class OrderOptions
{
    public Argument<FileInfo> Store { get; } = new("store") { Description = "The historian's file." };

    public Option<string> By { get; } = new("--by") { Description = "Who does it.", Required = true };

    public Option<string?> Washer { get; } = new("--washer") { Description = "The washer; may be left out where there is one." };

    public Option<Uri?> Service { get; } = new("--service") { Description = "Address of the running service, such as http://127.0.0.1:8480; it takes it then.", CustomParser = ParseAddress };

    public Option<FileInfo?> Site { get; } = new("--site") { Description = "The site's file, to find the running service by its http.port." };

    /// <summary>Never on the command line, which other users of the machine can see.</summary>
    public Option<FileInfo?> TokenFile { get; } = new("--token-file") { Description = $"A file whose first line is a token, where the service asks for a login. Left out: the environment variable {TokenVariable}. --by is then the token's name." };

    public const string TokenVariable = "WASHBRIDGE_TOKEN";

    public void AddTo(Command command, bool withWasher = true)
    {
        foreach (var option in withWasher ? new Option[] { By, Washer, Service, Site, TokenFile } : [By, Service, Site, TokenFile])
        {
            command.Options.Add(option);
        }
    }

    /// <summary>Null after printing what is wrong with the site's file.</summary>
    public Delivery? Delivery(ParseResult parsed, TextWriter output, TextWriter errors) => Delivery(parsed, parsed.GetValue(Store)!, output, errors);

    public Delivery? Delivery(ParseResult parsed, FileInfo store, TextWriter output, TextWriter errors)
    {
        var service = parsed.GetValue(Service);
        if (service is null && parsed.GetValue(Site) is { } file)
        {
            if (SiteFile.Load(file, errors) is not { } site)
            {
                return null;
            }

            if (site.Http is null)
            {
                errors.WriteLine($"{file.FullName}: has no http.port, so that the service takes nothing from other programs. Set it and start the service again.");
                return null;
            }

            service = AddressOf(site.Http);
        }

        return Token(parsed, errors, out var token) ? new Delivery(store, service, output, errors, token) : null;
    }

    /// <summary>By the name that its certificate is for, where it has one.</summary>
    public static Uri AddressOf(HttpConfiguration http) =>
        http.IsSecure ? new UriBuilder(Uri.UriSchemeHttps, http.HostNames.Count > 0 ? http.HostNames[0] : "localhost", http.Port).Uri
        : new Uri($"http://127.0.0.1:{http.Port}");

    public bool Token(ParseResult parsed, TextWriter errors, out string? token)
    {
        token = Environment.GetEnvironmentVariable(TokenVariable);
        if (parsed.GetValue(TokenFile) is not { } file)
        {
            return true;
        }

        try
        {
            token = File.ReadLines(file.FullName).FirstOrDefault()?.Trim();
            return true;
        }
        catch (Exception failure) when (failure is IOException or UnauthorizedAccessException)
        {
            errors.WriteLine($"--token-file {file.FullName}: cannot be read: {failure.Message}");
            return false;
        }
    }

    private static Uri? ParseAddress(System.CommandLine.Parsing.ArgumentResult result)
    {
        if (Uri.TryCreate(result.Tokens[0].Value, UriKind.Absolute, out var address) && (address.Scheme == Uri.UriSchemeHttp || address.Scheme == Uri.UriSchemeHttps))
        {
            return address;
        }

        result.AddError($"--service {result.Tokens[0].Value}: not an address. Write it like http://127.0.0.1:8480 or https://washers.example:8480.");
        return null;
    }
}
