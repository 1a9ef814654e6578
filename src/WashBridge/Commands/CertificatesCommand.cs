using System.CommandLine;
using WashBridge.Browsing;
using WashBridge.Certificates;
using WashBridge.Configuration;
using WashBridge.Protocols.OpcUa.Security;

namespace WashBridge.Commands;

/// <summary><c>certificates</c>: our own certificate, and those of others that are trusted or not.</summary>
internal static class CertificatesCommand
{
    public static Command Create(TimeProvider time) => new("certificates", """
        OPC UA certificates of a site: our own, which controllers must trust, and those of controllers and clients, which we must trust.

        Run it as the user that the service runs as: the folder of certificates is closed to others.
        A service that runs sees every change at once.
        """)
    {
        List(time), Show(time), Trust(time), Reject(time),
    };

    private static Command List(TimeProvider time)
    {
        var site = Site();
        var command = new Command("list", """
            Lists own, trusted and rejected certificates, with what is wrong with them. Makes our own if there is none.

            Example: washbridge certificates list config/site.yaml
            """) { site };
        command.SetAction(parsed => Run(parsed, parsed.GetValue(site)!, time, (application, printer) => printer.PrintList(application, parsed.GetValue(site)!)));
        return command;
    }

    private static Command Show(TimeProvider time)
    {
        var (site, thumbprint) = (Site(), Thumbprint());
        thumbprint.Description += " Left out: our own certificate.";
        var command = new Command("show", """
            Shows a certificate in full, and where its file is: to compare it with what a device shows, or to give our own to a controller.

            Example: washbridge certificates show config/site.yaml 4F2A91C0
            """) { site, thumbprint };
        command.SetAction(parsed => Run(parsed, parsed.GetValue(site)!, time, (application, printer) =>
        {
            _ = application.Certificate;
            printer.PrintOne(CertificateSearch.Find(application.Store, parsed.GetValue(thumbprint)));
        }));
        return command;
    }

    private static Command Trust(TimeProvider time)
    {
        var (site, thumbprint) = (Site(), Thumbprint());
        var command = new Command("trust", """
            Trusts a certificate that was rejected. Compare its whole thumbprint with what the device itself shows first.

            Example: washbridge certificates trust config/site.yaml 4F2A91C0
            """) { site, thumbprint };
        command.SetAction(parsed => Run(parsed, parsed.GetValue(site)!, time, (application, printer) =>
        {
            var wasTrusted = CertificateSearch.Find(application.Store, parsed.GetValue(thumbprint)).State == StoredState.Trusted;
            printer.PrintTrusted(application.Store.Trust(parsed.GetValue(thumbprint)!), wasTrusted, parsed.GetValue(site)!, application.Configuration.Server is not null);
        }, parsed.GetValue(thumbprint)));
        return command;
    }

    private static Command Reject(TimeProvider time)
    {
        var (site, thumbprint) = (Site(), Thumbprint());
        var command = new Command("reject", """
            Withdraws trust in a certificate.

            Example: washbridge certificates reject config/site.yaml 4F2A91C0
            """) { site, thumbprint };
        command.SetAction(parsed => Run(parsed, parsed.GetValue(site)!, time, (application, printer) =>
            printer.PrintRejected(application.Store.Reject(parsed.GetValue(thumbprint)!), parsed.GetValue(site)!), parsed.GetValue(thumbprint)));
        return command;
    }

    private static Argument<string> Site() => new("site") { Description = "The site file; or a folder of certificates, as browse uses with an address." };

    private static Argument<string?> Thumbprint() => new("thumbprint")
    {
        Description = "The certificate's thumbprint, or its first 4 digits or more.",
        Arity = ArgumentArity.ZeroOrOne,
    };

    /// <summary>A thumbprint is copied from a message more easily than the path of a site: say what is missing.</summary>
    private static int Run(ParseResult parsed, string path, TimeProvider time, Action<OpcUaApplication, CertificatePrinter> action, string? thumbprint)
    {
        if (thumbprint is not null)
        {
            return Run(parsed, path, time, action);
        }

        var (name, isThumbprint) = (parsed.CommandResult.Command.Name, path.Length is >= 4 and <= 40 && path.All(char.IsAsciiHexDigit));
        parsed.InvocationConfiguration.Output.WriteLine($"{name} needs the site file and the beginning of a thumbprint; found {path} alone; allowed: washbridge certificates {name} {(isThumbprint ? $"SITE {path}" : $"{path} THUMBPRINT")}");
        return ExitCodes.ConfigurationErrors;
    }

    private static int Run(ParseResult parsed, string path, TimeProvider time, Action<OpcUaApplication, CertificatePrinter> action)
    {
        var output = parsed.InvocationConfiguration.Output;

        if (Application(path, output) is not { } configuration)
        {
            return ExitCodes.ConfigurationErrors;
        }

        try
        {
            using var application = new OpcUaApplication(configuration, time);
            action(application, new CertificatePrinter(output, Terminal.Of(output)));
            return ExitCodes.Success;
        }
        catch (PkiException e)
        {
            output.WriteLine($"{char.ToUpperInvariant(e.Message[0])}{e.Message[1..]}.");
            return ExitCodes.ConfigurationErrors;
        }
    }

    /// <summary>Null: the site's problems were written.</summary>
    private static OpcUaConfiguration? Application(string path, TextWriter output)
    {
        if (Directory.Exists(path))
        {
            return BrowseTarget.ApplicationOf(path);
        }

        // No password is needed here, so that one that is set for the service only is not missed.
        var loaded = ConfigurationLoader.Load(path, name => Environment.GetEnvironmentVariable(name) ?? "not needed");
        foreach (var problem in loaded.Problems)
        {
            output.WriteLine(problem);
        }

        return loaded.Site?.OpcUa;
    }
}
