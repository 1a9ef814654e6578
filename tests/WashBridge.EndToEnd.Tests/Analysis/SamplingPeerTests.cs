using WashBridge.Core.Sampling;
using static WashBridge.EndToEnd.Tests.Analysis.StatisticsPeer;

namespace WashBridge.EndToEnd.Tests.Analysis;

/// <summary>Sampling plans and bounds at points that nobody chose, against R; the random choice against a second implementation of its description, in Python.</summary>
public sealed class SamplingPeerTests
{
    private const int Points = 300;

    [Fact]
    public async Task Tails_agree_with_R()
    {
        var random = new Random(77);
        var points = Enumerable.Range(0, Points).Select(_ =>
        {
            var lot = Size(random, 1_000_000);
            var (opened, failing) = (random.Next(1, lot + 1), random.Next(0, lot + 1));
            var rate = Math.Pow(10, -6 * random.NextDouble());

            // Near the mean and far from it: where the tail is 1, half, and almost nothing.
            var failed = Math.Clamp((int)((random.Next(2) == 0 ? (double)opened * failing / lot : opened * rate) * 2 * random.NextDouble()), 0, opened);
            return (Lot: lot, Opened: opened, Failing: failing, Failed: failed, Rate: rate);
        }).ToArray();
        var lines = await RAsync(
            """
            p <- matrix(scan(file("stdin"), quiet = TRUE), ncol = 5, byrow = TRUE)
            for (i in seq_len(nrow(p))) { N <- p[i, 1]; n <- p[i, 2]; K <- p[i, 3]; x <- p[i, 4]; r <- p[i, 5]
                cat(sprintf("%.17g", c(phyper(x, K, N - K, n), phyper(x - 1, K, N - K, n, lower.tail = FALSE), pbinom(x, n, r), pbinom(x - 1, n, r, lower.tail = FALSE))), "\n") }
            """,
            string.Join('\n', points.Select(p => $"{p.Lot} {p.Opened} {p.Failing} {p.Failed} {Write(p.Rate)}")));
        Assert.Equal(Points, lines.Length);
        foreach (var (p, line) in points.Zip(lines))
        {
            var theirs = Numbers(line);
            Same(theirs[0], Tails.AtMost(p.Failed, p.Opened, p.Failing, p.Lot), $"phyper {p}");
            Same(theirs[1], Tails.AtLeast(p.Failed, p.Opened, p.Failing, p.Lot), $"phyper, upper {p}");
            Same(theirs[2], Tails.AtMost(p.Failed, p.Opened, p.Rate), $"pbinom {p}");
            Same(theirs[3], Tails.AtLeast(p.Failed, p.Opened, p.Rate), $"pbinom, upper {p}");
        }
    }

    [Fact]
    public async Task Clopper_Pearson_bounds_agree_with_R()
    {
        var random = new Random(78);
        var points = Enumerable.Range(0, Points).Select(_ =>
        {
            var opened = Size(random, 100_000);
            return (Opened: opened, Failed: (int)(opened * Math.Pow(random.NextDouble(), 4)), Confidence: 0.5 + (0.4999 * random.NextDouble()));
        }).Append((Opened: 10, Failed: 10, Confidence: 0.95)).Append((Opened: 1, Failed: 0, Confidence: 0.95)).ToArray();
        var lines = await RAsync(
            """
            p <- matrix(scan(file("stdin"), quiet = TRUE), ncol = 3, byrow = TRUE)
            for (i in seq_len(nrow(p))) { n <- p[i, 1]; x <- p[i, 2]; level <- p[i, 3]
                two <- binom.test(x, n, conf.level = level)$conf.int
                cat(sprintf("%.17g", c(binom.test(x, n, alternative = "less", conf.level = level)$conf.int[2], if (x < n) qbeta(level, x + 1, n - x) else 1, two[1], two[2])), "\n") }
            """,
            string.Join('\n', points.Select(p => $"{p.Opened} {p.Failed} {Write(p.Confidence)}")));
        foreach (var (p, line) in points.Zip(lines))
        {
            var theirs = Numbers(line);
            var one = FailureBound.OfProcess(p.Opened, p.Failed, p.Confidence);
            var two = FailureBound.OfProcess(p.Opened, p.Failed, p.Confidence, isTwoSided: true);
            Same(theirs[0], one.UpperRate, $"binom.test {p}");
            Same(theirs[1], one.UpperRate, $"qbeta {p}");
            Same(theirs[2], two.LowerRate, $"lower {p}");
            Same(theirs[3], two.UpperRate, $"upper {p}");
        }
    }

    /// <summary>R tries every number of failing kegs and every sample size, one after the other.</summary>
    [Fact]
    public async Task Plans_and_bounds_of_lots_agree_with_a_search_in_R()
    {
        var random = new Random(79);
        var points = Enumerable.Range(0, Points).Select(_ =>
        {
            var lot = random.Next(2, 1500);
            var opened = random.Next(1, lot + 1);
            var accepted = random.Next(0, Math.Min(5, lot));
            return (Lot: lot, Opened: opened, Failed: (int)(opened * Math.Pow(random.NextDouble(), 3)), Accepted: accepted, Excluded: random.Next(accepted + 1, lot + 1), Confidence: Math.Round(0.5 + (0.499 * random.NextDouble()), 3));
        }).ToArray();
        var lines = await RAsync(
            """
            p <- matrix(scan(file("stdin"), quiet = TRUE), ncol = 6, byrow = TRUE)
            for (i in seq_len(nrow(p))) { N <- p[i, 1]; n <- p[i, 2]; x <- p[i, 3]; a <- p[i, 4]; D <- p[i, 5]; risk <- (1 - p[i, 6]) * (1 + 1e-12)
                K <- x:(N - n + x)
                lower <- phyper(x, K, N - K, n); upper <- phyper(x - 1, K, N - K, n, lower.tail = FALSE)
                sizes <- (a + 1):N
                cat(max(K[lower > risk]), min(K[upper > risk / 2]), max(K[lower > risk / 2]), min(sizes[phyper(a, D, N - D, sizes) <= risk]), "\n") }
            """,
            string.Join('\n', points.Select(p => $"{p.Lot} {p.Opened} {p.Failed} {p.Accepted} {p.Excluded} {Write(p.Confidence)}")));
        Assert.Equal(Points, lines.Length);
        foreach (var (p, line) in points.Zip(lines))
        {
            var one = FailureBound.OfLot(p.Lot, p.Opened, p.Failed, p.Confidence);
            var two = FailureBound.OfLot(p.Lot, p.Opened, p.Failed, p.Confidence, isTwoSided: true);
            var plan = ExactPlan.ForLot(p.Lot, p.Excluded, p.Accepted, p.Confidence);
            Assert.Equal($"{p}: {line}", $"{p}: {one.UpperKegs} {two.LowerKegs} {two.UpperKegs} {plan.SampleSize}");
        }
    }

    [Fact]
    public async Task Plans_of_a_process_agree_with_a_search_in_R()
    {
        var random = new Random(80);
        var points = Enumerable.Range(0, Points).Select(_ => (Rate: 0.005 + (0.6 * Math.Pow(random.NextDouble(), 2)), Accepted: random.Next(0, 12), Confidence: Math.Round(0.5 + (0.499 * random.NextDouble()), 3))).ToArray();
        var lines = await RAsync(
            """
            p <- matrix(scan(file("stdin"), quiet = TRUE), ncol = 3, byrow = TRUE)
            for (i in seq_len(nrow(p))) { sizes <- (p[i, 2] + 1):8000
                cat(min(sizes[pbinom(p[i, 2], sizes, p[i, 1]) <= (1 - p[i, 3]) * (1 + 1e-12)]), "\n") }
            """,
            string.Join('\n', points.Select(p => $"{Write(p.Rate)} {p.Accepted} {Write(p.Confidence)}")));
        Assert.Equal(lines, points.Select(p => $"{ExactPlan.ForProcess(p.Rate, p.Accepted, p.Confidence).SampleSize}"));
    }

    [Fact]
    public async Task The_random_choice_can_be_repeated_in_another_language()
    {
        string[] seeds = ["lot 2031-03-05 early", "1", "Prüfung ☂", "0123456789abcdef"];
        string[] lot = [.. Enumerable.Range(0, 700).Select(i => i % 3 == 0 ? $"w1-20310305T{i:000000}.000/{i % 4}" : $"K-{i * 7919 % 1000:0000}")];
        var lines = await PythonAsync(
            """
            import hashlib, sys
            sys.stdin.reconfigure(encoding="utf-8")
            lot, *seeds = sys.stdin.read().split("\n")
            for seed in seeds:
                ids = sorted(lot.split(" "))
                print(hashlib.sha256("".join(i + "\n" for i in ids).encode()).hexdigest())
                counter = 0
                for i in range(300):
                    left = len(ids) - i
                    while True:
                        number = int.from_bytes(hashlib.sha256(f"{seed}:{counter}".encode()).digest()[:8], "big")
                        counter += 1
                        if number < 2**64 - 2**64 % left:
                            break
                    j = i + number % left
                    ids[i], ids[j] = ids[j], ids[i]
                print(" ".join(ids[:300]))
            """,
            string.Join(' ', lot) + "\n" + string.Join('\n', seeds));
        Assert.Equal(lines, seeds.SelectMany(s => new[] { RandomChoice.Fingerprint(lot), string.Join(' ', RandomChoice.Choose(s, lot, 300)) }));
    }

    private static int Size(Random random, int most) => (int)Math.Pow(most, random.NextDouble());

    /// <summary>To 10 digits: R's sums and quantiles keep about twelve. What neither can tell from nothing is nothing.</summary>
    private static void Same(double theirs, double ours, string what)
        => Assert.True(Math.Abs(theirs - ours) <= (1e-10 * Math.Abs(theirs)) + 1e-280, $"{what}: R {theirs:R}, ours {ours:R}");
}
