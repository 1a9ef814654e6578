using System.CommandLine;
using System.Globalization;

namespace WashBridge.Commands;

/// <summary>Whether the service works, told by what it writes: for containers and supervisors, also where no pages are served.</summary>
internal static class HealthCommand
{
    private const double Longest = 24 * 60;

    public static Command Create(TimeProvider time)
    {
        var siteFile = new Argument<FileInfo>("site") { Description = "The site's file.", DefaultValueFactory = _ => new FileInfo("config/site.yaml") };
        var within = new Option<double>("--within") { Description = "How old the last entry of the log may be, in minutes, 0.1 to 1440.", DefaultValueFactory = _ => 2 }.Within(0.1, Longest);
        var command = new Command("health", """
            Says whether the service works: it commits every read to the historian, failed ones too, so that a log that stands still is a service that does. Whether the washers can be read is another question: `check`.

            Example: washbridge health /etc/washbridge/site.yaml
            Exit codes: 0 it works; 1 the command line or the configuration is wrong; 3 the historian cannot be read; 4 the log stands still.
            """) { siteFile, within };
        command.SetAction(parsed =>
        {
            var (output, errors) = (parsed.InvocationConfiguration.Output, parsed.InvocationConfiguration.Error);
            return SiteFile.Load(parsed.GetValue(siteFile)!, errors) is { } site
                ? Run(site.Store.Path, TimeSpan.FromMinutes(parsed.GetValue(within)), time.GetUtcNow(), output, errors)
                : ExitCodes.ConfigurationErrors;
        });
        return command;
    }

    private static int Run(string store, TimeSpan within, DateTimeOffset now, TextWriter output, TextWriter errors)
    {
        if (!File.Exists(store))
        {
            errors.WriteLine($"{store}: no such file. The service makes it when it starts: has it ever run?");
            return ExitCodes.StoreErrors;
        }

        using var historian = Historian.Historian.OpenReader(store);
        if (historian.ReadLog(Math.Max(0, historian.LastSequence - 1), 1) is not [var last])
        {
            errors.WriteLine($"{store}: nothing is in the log yet. A service that has just started writes within a minute; else its own log says what keeps it.");
            return ExitCodes.Failure;
        }

        // A clock that was set back makes the last entry lie ahead: that is no reason to start anything anew.
        var age = now - (last.Frame?.Read ?? last.Event!.At).Latest.ToDateTimeOffset();
        var told = string.Create(CultureInfo.InvariantCulture, $"the last entry of the log, number {last.Sequence}, is {age.TotalSeconds:0} s old; allowed: {within.TotalSeconds:0} s");
        (age <= within ? output : errors).WriteLine($"{store}: {told}");
        return age <= within ? ExitCodes.Success : ExitCodes.Failure;
    }
}
