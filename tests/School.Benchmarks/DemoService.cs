using System.Diagnostics;
using System.Net;
using System.Net.Http.Headers;
using System.Net.Http.Json;
using System.Text.Json;
using System.Text.RegularExpressions;

namespace School.Benchmarks;

/// <summary>The service as the demo runs it, as a process of its own on a folder of its own.</summary>
internal sealed partial class DemoService : IAsyncDisposable
{
    private const string Password = "bench lanes and bridges";
    private readonly Process _process;
    private readonly bool _keeps;

    private DemoService(Process process, string folder, bool keeps, Uri url)
    {
        (_process, Folder, _keeps, Url) = (process, folder, keeps, url);
    }

    public Uri Url { get; }

    public string Folder { get; }

    /// <summary>The usual demo on a folder that goes with it, or a school of so many lessons, without jobs, on a folder that may be kept for the next time.</summary>
    public static async Task<DemoService> StartAsync(
        int? lessons = null, string? keptIn = null, string? assembly = null, bool runJobs = true, params (string Name, string Value)[] settings)
    {
        var folder = keptIn is null ? Directory.CreateTempSubdirectory("school-bench-").FullName : Path.Combine(Path.GetFullPath(keptIn), $"{lessons}");
        assembly ??= Path.Combine(AppContext.BaseDirectory, "School.Web.dll");
        var start = new ProcessStartInfo("dotnet")
        {
            ArgumentList = { assembly },
            RedirectStandardOutput = true,
            WorkingDirectory = Path.GetDirectoryName(assembly),
            Environment =
            {
                ["SCHOOL_DEMO"] = "1",
                ["SCHOOL_DEMO_PASSWORD"] = Password,
                ["SCHOOL_DATA"] = folder,
                ["ASPNETCORE_ENVIRONMENT"] = "Production",
                ["Logging__LogLevel__Default"] = "Warning",
            },
        };
        if (lessons is not null)
        {
            start.ArgumentList.Add("demo");
            start.ArgumentList.Add($"--scale={lessons}");
        }

        if (lessons is not null || !runJobs)
        {
            start.Environment["School__RunJobs"] = "false";
        }

        foreach (var (name, value) in settings)
        {
            start.Environment[name] = value;
        }

        start.ArgumentList.Add("--urls=http://127.0.0.1:0");
        return await ReadyAsync(Process.Start(start)!, folder, keptIn is not null, lessons is not null);
    }

    private static async Task<DemoService> ReadyAsync(Process process, string folder, bool keeps, bool says)
    {
        while (await process.StandardOutput.ReadLineAsync() is { } line)
        {
            if (says)
            {
                await Console.Error.WriteLineAsync(line);
            }

            if (line.StartsWith("ready ", StringComparison.Ordinal))
            {
                _ = process.StandardOutput.ReadToEndAsync();
                return new(process, folder, keeps, new(line["ready ".Length..]));
            }
        }

        throw new InvalidOperationException("The service stopped before it was ready.");
    }

    /// <summary>A second node of a school, which reaches its database as it is told. Tokens of the first are good for it.</summary>
    public static async Task<DemoService> OnWireAsync(DemoService first, string connectionString)
    {
        var start = new ProcessStartInfo("dotnet")
        {
            ArgumentList = { Path.Combine(AppContext.BaseDirectory, "School.Web.dll"), "--urls=http://127.0.0.1:0" },
            RedirectStandardOutput = true,
            WorkingDirectory = AppContext.BaseDirectory,
            Environment =
            {
                ["ConnectionStrings__School"] = connectionString,
                ["School__KeyFile"] = Path.Combine(first.Folder, "school.key"),
                ["School__RunJobs"] = "false",
                ["School__StaffSecondStep"] = "offered",
                ["School__PublicUrl"] = first.Url.ToString(),
                ["School__PlainHttp"] = "true",
                ["ASPNETCORE_ENVIRONMENT"] = "Production",
                ["Logging__LogLevel__Default"] = "Warning",
            },
        };
        return await ReadyAsync(Process.Start(start)!, first.Folder, keeps: true, says: true);
    }

    /// <summary>A client of the API with a token.</summary>
    public async Task<HttpClient> ApiAsync(string email)
    {
        var client = new HttpClient { BaseAddress = Url };
        using var answer = await client.PostAsJsonAsync("/api/v1/tokens", new { email, password = Password });
        answer.EnsureSuccessStatusCode();
        var token = (await answer.Content.ReadFromJsonAsync<JsonElement>()).GetProperty("token").GetString();
        client.DefaultRequestHeaders.Authorization = new AuthenticationHeaderValue("Bearer", token);
        return client;
    }

    /// <summary>A client of the pages with a cookie.</summary>
    public async Task<HttpClient> PagesAsync(string email)
    {
        var client = new HttpClient(new HttpClientHandler { CookieContainer = new CookieContainer() }) { BaseAddress = Url };
        var form = await client.GetStringAsync("/people/sign-in");
        using var answer = await client.PostAsync("/people/sign-in", new FormUrlEncodedContent(new Dictionary<string, string>
        {
            ["Input.Email"] = email,
            ["Input.Password"] = Password,
            ["__RequestVerificationToken"] = FormToken().Match(form).Groups[1].Value,
        }));
        answer.EnsureSuccessStatusCode();
        return client;
    }

    /// <summary>Memory of the service itself, without its database, that lies in the machine's.</summary>
    public double Megabytes()
    {
        _process.Refresh();
        return _process.WorkingSet64 / 1e6;
    }

    public async ValueTask DisposeAsync()
    {
        // A signal, not a kill: the private database stops with its service.
        using (var stop = Process.Start("kill", ["-TERM", $"{_process.Id}"]))
        {
            await stop.WaitForExitAsync();
        }

        await _process.WaitForExitAsync();
        _process.Dispose();
        if (!_keeps)
        {
            Directory.Delete(Folder, recursive: true);
        }
    }

    [GeneratedRegex("name=\"__RequestVerificationToken\"[^>]*value=\"([^\"]+)\"")]
    private static partial Regex FormToken();
}
