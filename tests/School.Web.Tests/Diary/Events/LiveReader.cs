using System.Net;
using System.Net.ServerSentEvents;
using System.Text.Json;
using System.Threading.Channels;

namespace School.Web.Tests.Diary.Events;

/// <summary>Reads a stream of changes as a program does, by the reader of the framework (System.Net.ServerSentEvents), which knows nothing of the one who writes.</summary>
internal sealed class LiveReader : IAsyncDisposable
{
    public static readonly TimeSpan Patience = TimeSpan.FromSeconds(10);
    private readonly HttpResponseMessage _answer;
    private readonly Channel<SseItem<string>> _read = Channel.CreateUnbounded<SseItem<string>>();
    private readonly CancellationTokenSource _stop = new();
    private readonly Task _reading;
    private readonly SseParser<string> _parser;

    private LiveReader(HttpResponseMessage answer, Stream stream)
    {
        _answer = answer;
        _parser = SseParser.Create(stream, (_, data) => System.Text.Encoding.UTF8.GetString(data));
        _reading = Task.Run(ReadAsync);
    }

    /// <summary>Where to go on: also ids that came without an event.</summary>
    public string LastEventId => _parser.LastEventId;

    /// <summary>Everything that was told so far.</summary>
    public List<string> Told { get; } = [];

    public HttpResponseMessage Answer => _answer;

    /// <summary>Once it is open, nothing that changes is missed.</summary>
    public static async Task<LiveReader> OpenAsync(HttpClient client, string? lastEventId = null)
    {
        using var request = new HttpRequestMessage(HttpMethod.Get, "/api/v1/events");
        if (lastEventId is not null)
        {
            request.Headers.TryAddWithoutValidation("Last-Event-ID", lastEventId);
        }

        var answer = await client.SendAsync(request, HttpCompletionOption.ResponseHeadersRead).WaitAsync(Patience);
        Assert.True(answer.StatusCode == HttpStatusCode.OK, $"{(int)answer.StatusCode}");
        return new(answer, await answer.Content.ReadAsStreamAsync());
    }

    public async Task<LiveChange> NextAsync()
    {
        using var limit = new CancellationTokenSource(Patience);
        var item = await _read.Reader.ReadAsync(limit.Token);
        var data = JsonSerializer.Deserialize<JsonElement>(item.Data);
        Assert.Equal(["kind", "id", "day", "version"], data.EnumerateObject().Select(member => member.Name));
        return new(
            item.EventType, data.Word("kind")!, data.GetProperty("id").ValueKind == JsonValueKind.Null ? null : data.Id(), data.Word("day"),
            data.GetProperty("version").ValueKind == JsonValueKind.Null ? null : data.GetProperty("version").GetInt64());
    }

    /// <summary>Until the one that is asked for, and all that came on the way.</summary>
    public async Task<List<LiveChange>> UntilAsync(Func<LiveChange, bool> wanted)
    {
        var all = new List<LiveChange>();
        do
        {
            all.Add(await NextAsync());
        }
        while (!wanted(all[^1]));
        return all;
    }

    /// <summary>Until the stream ends by itself.</summary>
    public Task EndedAsync() => _reading.WaitAsync(Patience);

    /// <summary>Until an id has come that is another than this.</summary>
    public async Task<string> IdAfterAsync(string id)
    {
        using var limit = new CancellationTokenSource(Patience);
        while (LastEventId == id || LastEventId.Length == 0)
        {
            await Task.Delay(20, limit.Token);
        }

        return LastEventId;
    }

    public async ValueTask DisposeAsync()
    {
        await _stop.CancelAsync();
        await _reading.WaitAsync(Patience);
        _answer.Dispose();
        _stop.Dispose();
    }

    private async Task ReadAsync()
    {
        try
        {
            await foreach (var item in _parser.EnumerateAsync(_stop.Token))
            {
                lock (Told)
                {
                    Told.Add(item.Data);
                }

                await _read.Writer.WriteAsync(item);
            }
        }
        catch (Exception ended) when (ended is OperationCanceledException or IOException or HttpRequestException or ObjectDisposedException)
        {
            // The reader went, or the node did.
        }
        finally
        {
            _read.Writer.Complete();
        }
    }
}

/// <summary>An event as it was read.</summary>
internal sealed record LiveChange(string Event, string Kind, Guid? Id, string? Day, long? Version);
