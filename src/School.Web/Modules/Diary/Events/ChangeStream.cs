using System.Buffers;
using System.Diagnostics;
using System.Text;
using System.Text.Json;
using Microsoft.AspNetCore.Http.Json;
using Microsoft.Extensions.Options;
using NodaTime;
using School.Web.Platform.Access;
using School.Web.Platform.Api;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Events;

/// <summary>
/// One stream of changes in the form of the HTML standard (section 9.2, Server-sent events). It lasts as long as the session does, the reader
/// takes what is written, and the node runs; and never longer than a while, after which the reader comes back.
/// </summary>
internal sealed class ChangeStream(LiveDays live, LiveLimits limits, IOptions<JsonOptions> json, IHostApplicationLifetime lifetime)
{
    /// <summary>The event whose data is a change.</summary>
    public const string Change = "change";

    /// <summary>The event after which everything is to be read anew.</summary>
    public const string Again = "again";

    private const int ComeBackMilliseconds = 2000;
    private static readonly TimeSpan UntilHeard = TimeSpan.FromSeconds(5);

    public static readonly Refusal TooManyOfPerson = new(
        RefusalKind.TooMany, "too_many_streams", "As many of your pages as may wait for news do so already. Close one, then try again.")
    { RetryAfter = Duration.FromSeconds(30) };

    public static readonly Refusal TooMany = new(
        RefusalKind.Away, "streams_full", "As many pages as may wait for news here do so already. Everything else works; read again now and then.")
    { RetryAfter = Duration.FromSeconds(60) };

    public static readonly Refusal NotHeard = new(
        RefusalKind.Away, "database_away", "The database is away for a moment. Try again shortly.")
    { RetryAfter = Duration.FromSeconds(10) };

    private readonly ArrayBufferWriter<byte> _text = new();
    private string _said = "";

    /// <returns>The refusal; nothing where the stream was given and has ended.</returns>
    public async Task<Refusal?> RunAsync(HttpContext context, Viewer viewer, string? lastEventId)
    {
        if (live.Open(viewer, out var tooManyOfPerson) is not { } stream)
        {
            return tooManyOfPerson ? TooManyOfPerson : TooMany;
        }

        try
        {
            using var ends = CancellationTokenSource.CreateLinkedTokenSource(context.RequestAborted, lifetime.ApplicationStopping);
            if (await StartAsync(stream, lastEventId, ends.Token) is not { } start)
            {
                return NotHeard;
            }

            var headers = context.Response.Headers;
            headers.ContentType = EventStreams.MediaType;
            // Behind a proxy an event is worth nothing once it has waited there for others.
            headers["X-Accel-Buffering"] = "no";
            if (ConditionalReads.Release(context) is { } body)
            {
                await SayAllAsync(context, body, stream, start, ends.Token);
            }
        }
        catch (Exception ended) when (ended is OperationCanceledException or IOException && context.Response.HasStarted)
        {
            // The reader went, or the node stops.
        }
        finally
        {
            live.Close(stream);
        }

        return null;
    }

    private async Task<LiveStart?> StartAsync(LiveStream stream, string? lastEventId, CancellationToken cancel)
    {
        using var limit = CancellationTokenSource.CreateLinkedTokenSource(cancel);
        limit.CancelAfter(UntilHeard);
        try
        {
            while (true)
            {
                await live.Ready.WaitAsync(limit.Token);
                if (live.Start(stream, lastEventId) is { } start)
                {
                    return start;
                }
            }
        }
        catch (OperationCanceledException)
        {
            return null;
        }
    }

    private async Task SayAllAsync(HttpContext context, Stream body, LiveStream stream, LiveStart start, CancellationToken cancel)
    {
        var began = Stopwatch.GetTimestamp();
        var looked = began;
        Say($"retry: {ComeBackMilliseconds}\n");
        SayId(start.Id);
        Say("\n");
        if (start.Anew)
        {
            SayAnew();
        }

        foreach (var missed in start.Missed)
        {
            SayChange(missed);
        }

        while (true)
        {
            if (!await WriteAsync(context, body, cancel))
            {
                return;
            }

            var left = limits.LongestSeconds - Stopwatch.GetElapsedTime(began).TotalSeconds;
            if (left <= 0)
            {
                return;
            }

            if (Stopwatch.GetElapsedTime(looked).TotalSeconds >= limits.LookSeconds)
            {
                // Whatever else has ended with the session, or was taken from them, ends here too.
                if (await AskedAnew.ViewerAsync(context) is not { } now || !now.May(EventEndpoints.Needed))
                {
                    return;
                }

                looked = Stopwatch.GetTimestamp();
                stream.See(now);
            }

            var untilLook = limits.LookSeconds - Stopwatch.GetElapsedTime(looked).TotalSeconds;
            var wait = Math.Max(0.001, Math.Min(left, Math.Min(untilLook, limits.SaySeconds)));
            if (await stream.WaitAsync(TimeSpan.FromSeconds(wait), cancel))
            {
                SayWaiting(stream);
            }

            // An id without data is an event to nobody, and says where to go on.
            if (live.Quiet(stream) is { } id && id != _said)
            {
                SayId(id);
                Say("\n");
            }
            else if (_text.WrittenCount == 0)
            {
                Say(":\n\n");
            }
        }
    }

    private void SayWaiting(LiveStream stream)
    {
        while (true)
        {
            if (stream.Next(out var anew) is { } next)
            {
                SayChange(next);
            }
            else if (anew)
            {
                SayAnew();
            }
            else
            {
                return;
            }
        }
    }

    private void SayChange(ToldChange told)
    {
        if (told.Change.Kind is DayChangeKind.Everything)
        {
            SayAnew();
            return;
        }

        Say($"event: {Change}\n");
        SayId(live.IdOf(told.Told));
        Say($"data: {JsonSerializer.Serialize(told.Change, json.Value.SerializerOptions)}\n\n");
    }

    private void SayAnew()
    {
        Say($"event: {Again}\n");
        if (live.Id is { } id)
        {
            SayId(id);
        }

        Say($"data: {JsonSerializer.Serialize(DayChange.Everything, json.Value.SerializerOptions)}\n\n");
    }

    private void SayId(string id)
    {
        _said = id;
        Say($"id: {id}\n");
    }

    private void Say(string text) => Encoding.UTF8.GetBytes(text, _text);

    /// <summary>False where the reader takes nothing.</summary>
    private async Task<bool> WriteAsync(HttpContext context, Stream body, CancellationToken cancel)
    {
        using var limit = CancellationTokenSource.CreateLinkedTokenSource(cancel);
        limit.CancelAfter(TimeSpan.FromSeconds(limits.WriteSeconds));
        try
        {
            await body.WriteAsync(_text.WrittenMemory, limit.Token);
            await body.FlushAsync(limit.Token);
            _text.ResetWrittenCount();
            return true;
        }
        catch (OperationCanceledException) when (!cancel.IsCancellationRequested)
        {
            context.Abort();
            return false;
        }
    }
}
