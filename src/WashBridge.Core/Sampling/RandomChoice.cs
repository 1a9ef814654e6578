using System.Buffers.Binary;
using System.Security.Cryptography;
using System.Text;

namespace WashBridge.Core.Sampling;

/// <summary>
/// Which kegs of a lot are opened: random, and again the same from the same lot and seed, in any language. SAMPLING.md gives the steps and a worked example.
/// </summary>
public static class RandomChoice
{
    private const int LongestSeed = 200;

    /// <summary>
    /// Chooses without replacement, every subset being equally likely: the first steps of the shuffle of Fisher and Yates (Durstenfeld 1964, Algorithm 235)
    /// over the ids in ordinal order, with numbers from SHA-256 of seed and counter.
    /// </summary>
    /// <param name="seed">1 to 200 characters; anything that is recorded before the sample is opened.</param>
    /// <param name="lot">The ids of the lot's kegs, each once, in any order.</param>
    /// <param name="size">0 to the size of the lot.</param>
    /// <returns>In the order in which they were chosen: a shorter sample of the same seed is the beginning of a longer one.</returns>
    /// <exception cref="SamplingException">An entry outside its range, or an id twice.</exception>
    public static IReadOnlyList<string> Choose(string seed, IReadOnlyCollection<string> lot, int size)
    {
        Entries.Within("seed's length", seed.Length, 1, LongestSeed);
        Entries.Within("sample size", size, 0, lot.Count);
        var ids = Ordered(lot);
        var numbers = new Numbers(seed);
        for (var i = 0; i < size; i++)
        {
            var j = i + (int)numbers.Below((ulong)(ids.Length - i));
            (ids[i], ids[j]) = (ids[j], ids[i]);
        }

        return ids[..size];
    }

    /// <summary>SHA-256 of the ids in ordinal order, each followed by a line feed, in small hexadecimal digits: says later whether the lot is still the one drawn from.</summary>
    /// <exception cref="SamplingException">An id twice, or one with a line feed.</exception>
    public static string Fingerprint(IReadOnlyCollection<string> lot)
        => Convert.ToHexStringLower(SHA256.HashData(Encoding.UTF8.GetBytes(string.Concat(Ordered(lot).Select(id => id + "\n")))));

    private static string[] Ordered(IReadOnlyCollection<string> lot)
    {
        var ids = lot.Order(StringComparer.Ordinal).ToArray();
        for (var i = 0; i < ids.Length; i++)
        {
            if (ids[i].Contains('\n', StringComparison.Ordinal))
            {
                throw new SamplingException("keg id: found one with a line feed; allowed: ids of one line");
            }

            if (i > 0 && ids[i] == ids[i - 1])
            {
                throw new SamplingException($"keg ids: found {ids[i]} twice; allowed: each once");
            }
        }

        return ids;
    }

    /// <summary>Whole numbers from SHA-256 of "seed:counter", counter from 0: the first eight bytes, the most significant first.</summary>
    private sealed class Numbers(string seed)
    {
        private long _counter;

        /// <summary>Each of 0 to bound - 1 equally likely: what would favour the low ones is thrown away.</summary>
        public ulong Below(ulong bound)
        {
            var surplus = ((ulong.MaxValue % bound) + 1) % bound;
            while (true)
            {
                var hash = SHA256.HashData(Encoding.UTF8.GetBytes(FormattableString.Invariant($"{seed}:{_counter++}")));
                var number = BinaryPrimitives.ReadUInt64BigEndian(hash);
                if (number <= ulong.MaxValue - surplus)
                {
                    return number % bound;
                }
            }
        }
    }
}
