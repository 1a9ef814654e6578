using System.CommandLine;
using System.CommandLine.Help;
using System.CommandLine.Invocation;

namespace WashBridge.Commands;

/// <summary>All that can be typed.</summary>
internal static class CommandLine
{
    /// <param name="input">Where a password is read that is not typed at a terminal.</param>
    public static RootCommand Create(TimeProvider time, TextReader input)
    {
        var root = new RootCommand("""
            WashBridge reads keg washers, keeps the evidence, and judges every keg against its recipe. It only ever reads.

            What a command takes, with an example: washbridge COMMAND --help
            """)
        {
            DemoCommand.Create(),
            CheckCommand.Create(time),
            RunCommand.Create(),
            ReportCommand.Create(),
            AnalyseCommand.Create(),
            SamplingCommand.Create(time),
            RecipesCommand.Create(time),
            RejudgeCommand.Create(time),
            ReplayCommand.Create(),
            ForwardCommand.Create(time),
            FollowersCommand.Create(time),
            KegCommand.Create(time),
            InspectCommand.Create(time),
            BathCommand.Create(time),
            MaintainCommand.Create(time),
            AlarmCommand.Create(time),
            RecordsCommand.Create(time),
            VerifyCommand.Create(),
            HealthCommand.Create(time),
            ImportTagsCommand.Create(),
            BrowseCommand.Create(time),
            CertificatesCommand.Create(time),
            PasswordHashCommand.Create(input),
            UsersCommand.Create(input, time),
            TokensCommand.Create(time),
        };
        var help = root.Options.OfType<HelpOption>().Single();
        help.Action = new ShortHelp((HelpAction)help.Action!);
        return root;
    }

    /// <summary>Of the program as a whole the list of commands, each with its first sentence: all that is said of each would be pages. Of a command everything.</summary>
    private sealed class ShortHelp(HelpAction full) : SynchronousCommandLineAction
    {
        public override int Invoke(ParseResult parseResult)
        {
            if (parseResult.CommandResult.Command is RootCommand root)
            {
                foreach (var command in root.Subcommands)
                {
                    command.Description = FirstSentence(command.Description!);
                    command.Arguments.ToList().ForEach(a => a.Hidden = true);
                }
            }

            return full.Invoke(parseResult);
        }

        private static string FirstSentence(string text)
        {
            var line = text.Split('\n')[0].TrimEnd();
            return line.IndexOf(". ", StringComparison.Ordinal) is var end and > 0 ? line[..(end + 1)] : line;
        }
    }
}
