using System.Buffers;
using System.Text.Json;
using NodaTime;
using NodaTime.Text;
using School.Web.Platform.Api;

namespace School.Web.Tests.Platform.Api;

/// <summary>What is written by hand in answers, since it is written so often, against what writes it elsewhere.</summary>
public sealed class AnswerOctetsTests
{
    private static readonly JsonSerializerOptions Options = Web.Platform.Api.Json.Configure(new(JsonSerializerDefaults.Web));

    [Fact]
    public void A_moment_is_written_as_NodaTime_writes_it()
    {
        var random = new Random(20261126);
        var moments = Enumerable.Range(0, 20_000).Select(_ => Instant.FromUnixTimeTicks(random.NextInt64(-600_000_000_000_000_000, 2_500_000_000_000_000_000)))
            .Concat([Instant.MinValue, Instant.MaxValue, Instant.FromUtc(9999, 12, 31, 23, 59, 59), Instant.FromUtc(1, 1, 1, 0, 0), default]);
        foreach (var moment in moments)
        {
            Assert.Equal($"\"{InstantPattern.General.Format(moment)}\"", JsonSerializer.Serialize(moment, Options));
        }
    }

    [Fact]
    public void Lent_memory_keeps_what_was_written_while_it_grows()
    {
        var random = new Random(20261126);
        using var lent = new PooledBytes();
        using var plain = new MemoryStream();
        using var body = new PooledBody(lent);
        for (var n = 0; n < 300; n++)
        {
            var piece = new byte[random.Next(n % 50 == 0 ? 100_000 : 500)];
            random.NextBytes(piece);
            plain.Write(piece);
            if (n % 2 == 0)
            {
                body.Write(piece, 0, piece.Length);
            }
            else
            {
                lent.Write(piece);
            }
        }

        Assert.Equal(plain.ToArray(), lent.Written.ToArray());
        Assert.Throws<ArgumentOutOfRangeException>(() => lent.Advance(int.MaxValue));
    }
}
