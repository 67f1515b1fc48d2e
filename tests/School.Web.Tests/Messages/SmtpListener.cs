using System.Collections.Concurrent;
using System.Net;
using System.Net.Sockets;
using System.Text;
using MimeKit;

namespace School.Web.Tests.Messages;

/// <summary>What the listener does instead of its usual answer.</summary>
internal abstract record Trouble
{
    /// <summary>Answers with this line.</summary>
    internal sealed record Says(string Line) : Trouble;

    /// <summary>Says nothing more, and keeps the line open.</summary>
    internal sealed record Hangs : Trouble;

    /// <summary>Closes the line.</summary>
    internal sealed record Cuts : Trouble;
}

/// <summary>A mail server on the loopback, enough of RFC 5321 for a program that hands mail over; it keeps what it took.</summary>
internal sealed class SmtpListener : IAsyncDisposable
{
    /// <summary>Stands for the moment after the text has arrived, before it is answered.</summary>
    public const string EndOfText = "END OF TEXT";

    /// <summary>Stands for the greeting.</summary>
    public const string Greeting = "GREETING";

    private readonly TcpListener _listener = new(IPAddress.Loopback, 0);
    private readonly CancellationTokenSource _stop = new();
    private readonly ConcurrentQueue<byte[]> _taken = new();
    private readonly ConcurrentBag<Task> _lines = [];
    private readonly Task _accepting;

    public SmtpListener()
    {
        _listener.Start();
        _accepting = AcceptAsync();
    }

    /// <summary>Asked at every command, and at the greeting and the end of the text; null for the usual answer.</summary>
    public Func<string, Trouble?> Mood { get; set; } = _ => null;

    public int Port => ((IPEndPoint)_listener.LocalEndpoint).Port;

    /// <summary>Raw octets of the messages it answered 250 to, or would have.</summary>
    public IReadOnlyList<byte[]> Taken => [.. _taken];

    public IReadOnlyList<MimeMessage> Letters => [.. _taken.Select(octets => MimeMessage.Load(new MemoryStream(octets)))];

    public async ValueTask DisposeAsync()
    {
        await _stop.CancelAsync();
        _listener.Stop();
        await _accepting;
        await Task.WhenAll(_lines);
        _stop.Dispose();
    }

    private async Task AcceptAsync()
    {
        try
        {
            while (true)
            {
                var client = await _listener.AcceptTcpClientAsync(_stop.Token);
                client.NoDelay = true;
                _lines.Add(ServeAsync(client));
            }
        }
        catch (Exception ended) when (ended is OperationCanceledException or SocketException)
        {
            // The test is over.
        }
    }

    private async Task ServeAsync(TcpClient client)
    {
        using (client)
        {
            try
            {
                // Latin-1 keeps every octet as it is.
                using var reader = new StreamReader(client.GetStream(), Encoding.Latin1);
                await using var writer = new StreamWriter(client.GetStream(), Encoding.Latin1) { NewLine = "\r\n", AutoFlush = true };
                if (!await AnswerAsync(writer, Greeting, "220 post.larkfield.example"))
                {
                    return;
                }

                while (await reader.ReadLineAsync(_stop.Token) is { } command)
                {
                    if (!await CommandAsync(command, reader, writer))
                    {
                        return;
                    }
                }
            }
            catch (Exception gone) when (gone is OperationCanceledException or IOException)
            {
                // The other side hung up, or the test is over.
            }
        }
    }

    private async Task<bool> CommandAsync(string command, StreamReader reader, StreamWriter writer)
    {
        var verb = command.Split(' ', ':')[0].ToUpperInvariant();
        if (verb != "DATA")
        {
            return await AnswerAsync(writer, command, verb == "EHLO" ? "250 post.larkfield.example" : verb == "QUIT" ? "221 bye" : "250 ok") && verb != "QUIT";
        }

        if (Mood(command) is { } refusal)
        {
            return await MakeAsync(writer, refusal, "");
        }

        await writer.WriteLineAsync("354 go on");

        var text = new StringBuilder();
        while (await reader.ReadLineAsync(_stop.Token) is { } line && line != ".")
        {
            // RFC 5321 section 4.5.2: a leading dot was doubled.
            text.Append(line.StartsWith('.') ? line[1..] : line).Append("\r\n");
        }

        var octets = Encoding.Latin1.GetBytes(text.ToString());
        var trouble = Mood(EndOfText);
        if (trouble is not Trouble.Says)
        {
            _taken.Enqueue(octets);
        }

        return await MakeAsync(writer, trouble, "250 taken");
    }

    private Task<bool> AnswerAsync(StreamWriter writer, string command, string usual) => MakeAsync(writer, Mood(command), usual);

    private async Task<bool> MakeAsync(StreamWriter writer, Trouble? trouble, string usual)
    {
        switch (trouble)
        {
            case Trouble.Cuts:
                return false;
            case Trouble.Hangs:
                await Task.Delay(Timeout.Infinite, _stop.Token);
                return false;
            default:
                var line = (trouble as Trouble.Says)?.Line ?? usual;
                await writer.WriteLineAsync(line);
                return !line.StartsWith("421", StringComparison.Ordinal);
        }
    }
}
