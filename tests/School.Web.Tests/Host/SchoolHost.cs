using System.Net;
using System.Net.Http.Headers;
using Microsoft.AspNetCore.DataProtection;
using Microsoft.AspNetCore.Hosting;
using Microsoft.AspNetCore.Identity;
using Microsoft.AspNetCore.Mvc.Testing;
using Microsoft.AspNetCore.TestHost;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Logging;
using NodaTime;
using NodaTime.Testing;
using Npgsql;
using School.Tests;
using School.Web.Modules.Diary.Settings;
using School.Web.Modules.People;
using School.Web.Modules.People.SignIn;
using School.Web.Platform.Database;

namespace School.Web.Tests.Host;

/// <summary>The whole service in this process on a fresh real database, with a clock that stands still until it is moved.</summary>
internal sealed class SchoolHost : WebApplicationFactory<Program>
{
    public const string Password = "larkfield lanes and bridges";
    private const string Template = "school_template";
    private readonly TestPostgres _postgres;
    private readonly string _connection;
    private IReadOnlyList<ServiceDescriptor> _remembering = [];

    private SchoolHost(TestPostgres postgres, string connection)
    {
        _postgres = postgres;
        _connection = connection;
        Data = new TestData(this);
    }

    /// <summary>Monday 2 March 2026, 08:00 in London.</summary>
    public FakeClock Clock { get; } = new(Begin);

    private static Instant Begin { get; } = Instant.FromUtc(2026, 3, 2, 8, 0);

    public static DateTimeZone London { get; } = DateTimeZoneProviders.Tzdb["Europe/London"];

    /// <summary>The owner's, for tests that lay hands on the database themselves.</summary>
    public string ConnectionString => _connection;

    /// <summary>As the service reaches it: with the rights of the service and no more.</summary>
    public string ServiceConnectionString => ServiceOverride ?? _postgres.AsService(_connection);

    /// <summary>Today, for tests that start real nodes.</summary>
    public static LocalDate WallDate => Wall().GetCurrentInstant().InZone(London).Date;

    /// <summary>Makes instructors, cars, pupils and people to sign in as.</summary>
    public TestData Data { get; private set; }

    /// <summary>Settings of this host that differ from the usual ones.</summary>
    public IReadOnlyList<(string Key, string Value)> Settings { get; private init; } = [];

    /// <summary>
    /// A service on a database of its own, as it is after its first start. One with the usual settings may have served an earlier test:
    /// it is put back first (<see cref="IdleHosts"/>).
    /// </summary>
    public static async Task<SchoolHost> StartAsync(TestPostgres postgres, bool wallClock = false, params (string Key, string Value)[] settings) =>
        wallClock || settings.Length > 0
            ? await NewAsync(postgres, wallClock ? Wall() : null, settings)
            : await IdleHosts.TakeAsync(postgres, listening: false) ?? await NewAsync(postgres, null, []);

    /// <summary>The same, listening on a free port of the loopback, for a browser.</summary>
    public static async Task<SchoolHost> ListeningAsync(TestPostgres postgres, params (string Key, string Value)[] settings)
    {
        if (settings.Length == 0 && await IdleHosts.TakeAsync(postgres, listening: true) is { } idle)
        {
            return idle;
        }

        var host = await NewAsync(postgres, null, settings);
        host.Listen();
        return host;
    }

    private static async Task<SchoolHost> NewAsync(
        TestPostgres postgres, IClock? clock, (string Key, string Value)[] settings, Action<IServiceCollection>? also = null)
    {
        await postgres.PrepareTemplateAsync(Template, async connection =>
        {
            await using var maker = new SchoolHost(postgres, connection) { Migrates = true };
            // Makes the first key, so that every copy has it and no host remembers one that its database does not hold.
            maker.Services.GetRequiredService<IDataProtectionProvider>().CreateProtector("first").Protect("use");
            // A school that has been there for a while: a new one keeps more time beside a drive and teaches less on a day.
            await maker.WithDbAsync(db => db.Set<DiarySettings>().ExecuteUpdateAsync(
                set => set.SetProperty(s => s.Rules.BufferMinutes, 5).SetProperty(s => s.Rules.DailyTeachingMinutes, 480)));
        });
        return new SchoolHost(postgres, await postgres.CreateDatabaseAsync(Template))
        {
            ClockOverride = clock,
            Settings = settings,
            Also = also ?? (_ => { }),
            MayServeAgain = clock is null && settings.Length == 0 && also is null,
        };
    }

    /// <summary>One that serves no other test: for a test that changes keys, or the process itself.</summary>
    public static Task<SchoolHost> OfItsOwnAsync(TestPostgres postgres) => NewAsync(postgres, null, [], _ => { });

    /// <summary>With services of the test's own beside the usual ones.</summary>
    public static Task<SchoolHost> StartWithAsync(TestPostgres postgres, Action<IServiceCollection> also) => NewAsync(postgres, null, [], also);

    /// <summary>On a database of the test's own, migrated first; its clock is the wall clock's, for tests that start real nodes on it.</summary>
    /// <param name="postgres">The server of the test run.</param>
    /// <param name="connectionString">The owner's.</param>
    /// <param name="service">The service's, where the database is on another server.</param>
    public static async Task<SchoolHost> OnAsync(TestPostgres postgres, string connectionString, string? service = null)
    {
        var host = new SchoolHost(postgres, connectionString) { ClockOverride = Wall(), Migrates = true, ServiceOverride = service };
        await Task.Run(() => host.Services);
        return host;
    }

    /// <summary>A second node on the same database with the same clock.</summary>
    public SchoolHost SecondNode(params (string Key, string Value)[] settings) => NodeOn(_connection, settings);

    /// <summary>A second node that listens on the loopback too.</summary>
    public SchoolHost SecondListening(params (string Key, string Value)[] settings)
    {
        var node = NodeOn(_connection, settings);
        node.Listen();
        return node;
    }

    /// <summary>A node with the same clock on another database, one that was restored, say.</summary>
    public SchoolHost NodeOn(string connectionString, params (string Key, string Value)[] settings) =>
        new(_postgres, connectionString) { ClockOverride = ClockOverride ?? Clock, Settings = [.. Settings, .. settings] };

    /// <summary>The service's own singletons, which may remember things in the process.</summary>
    public IEnumerable<Type> OwnSingletons => _remembering.Select(RememberedInProcess.TypeOf).Distinct();

    /// <summary>The address of one that listens.</summary>
    public string Url => Listens ? ClientOptions.BaseAddress.ToString().TrimEnd('/') : throw new InvalidOperationException("Ask SchoolHost.ListeningAsync for a host that listens.");

    /// <summary>Whether it listens on the loopback.</summary>
    public bool Listens => PlainHttp;

    private IClock? ClockOverride { get; init; }

    /// <summary>The usual settings and clock: a later test may have it.</summary>
    private bool MayServeAgain { get; init; }

    private Action<IServiceCollection> Also { get; init; } = _ => { };

    private string? ServiceOverride { get; init; }

    /// <summary>Brings the schema up to date when it starts, as the service does on its private database.</summary>
    private bool Migrates { get; init; }

    /// <summary>Cookies also over plain HTTP, for a browser on the loopback.</summary>
    private bool PlainHttp { get; set; }

    /// <summary>Runs something against the database in a scope of its own.</summary>
    public async Task<T> WithDbAsync<T>(Func<SchoolDb, Task<T>> work)
    {
        await using var scope = Services.CreateAsyncScope();
        return await work(scope.ServiceProvider.GetRequiredService<SchoolDb>());
    }

    public Task AddAsync(params object[] rows) => WithDbAsync(async db =>
    {
        db.AddRange(rows);
        return await db.SaveChangesAsync();
    });

    /// <summary>A bearer token of the API.</summary>
    public async Task<string> TokenAsync(Person person)
    {
        await using var scope = Services.CreateAsyncScope();
        var who = Proven.Of(person);
        var issued = await scope.ServiceProvider.GetRequiredService<IssueToken>().RunAsync(who.Viewer, new(who.Stamp), CancellationToken.None);
        return issued.Value!.Token;
    }

    /// <summary>A client of the API, signed in with a token.</summary>
    public async Task<HttpClient> ApiAsAsync(Person person)
    {
        var token = await TokenAsync(person);
        // A test walks through weeks with one sign-in; how long a token lives is TokensTests' matter.
        var far = Clock.GetCurrentInstant() + Duration.FromDays(400);
        await WithDbAsync(db => db.Set<ApiToken>().Where(t => t.PersonId == person.Id).ExecuteUpdateAsync(set => set.SetProperty(t => t.ExpiresAt, far)));
        var client = CreateClient(new() { BaseAddress = new("https://localhost"), AllowAutoRedirect = false });
        client.DefaultRequestHeaders.Authorization = new AuthenticationHeaderValue("Bearer", token);
        return client;
    }

    /// <summary>A browser, as far as cookies go: signed in through the sign-in page. Redirects are not followed.</summary>
    public async Task<HttpClient> PagesAsAsync(Person person)
    {
        var client = Browser();
        var answer = await client.PostFormAsync("/people/sign-in", ("Input.Email", person.Email!), ("Input.Password", Password));
        Assert.True(answer.StatusCode == HttpStatusCode.Redirect, await answer.Content.ReadAsStringAsync());
        return client;
    }

    /// <summary>A browser with its own cookies in which nobody is signed in.</summary>
    public HttpClient Browser() => CreateClient(new() { BaseAddress = new("https://localhost"), AllowAutoRedirect = false, HandleCookies = true });

    /// <summary>A client without cookies or tokens.</summary>
    public HttpClient Anonymous() => CreateClient(new() { BaseAddress = new("https://localhost"), AllowAutoRedirect = false });

    /// <summary>As after its first start: the template's rows, the first clock, nothing remembered.</summary>
    public async Task PutBackAsync()
    {
        await CloseConnectionsAsync();
        await _postgres.CreateAnewAsync(_connection, Template);
        // A request that a browser had left behind may have used one until it was dropped with the database.
        await CloseConnectionsAsync();
        Clock.Reset(Begin);
        Clock.AutoAdvance = Duration.Zero;
        Data = new TestData(this);
        RememberedInProcess.Forget(Services);
    }

    private Task<bool> CloseConnectionsAsync() => WithDbAsync(db =>
    {
        db.CloseIdleConnections();
        return Task.FromResult(true);
    });

#pragma warning disable CA2215 // One that serves again is not done yet; StopAsync ends it.
    public override async ValueTask DisposeAsync()
#pragma warning restore CA2215
    {
        if (!MayServeAgain || !IdleHosts.Keep(_postgres, this))
        {
            await StopAsync();
        }
    }

    public async ValueTask StopAsync()
    {
        await base.DisposeAsync();
        // The service has pools of its own: it adds its limits to the connection string.
        foreach (var used in (string[])[_connection, ServiceConnectionString, ConnectionLimits.Of(_connection), ConnectionLimits.Of(ServiceConnectionString)])
        {
            await using var connection = new NpgsqlConnection(used);
            NpgsqlConnection.ClearPool(connection);
        }

#pragma warning disable CA1816 // What DisposeAsync would have done.
        GC.SuppressFinalize(this);
#pragma warning restore CA1816
    }

    private void Listen()
    {
        PlainHttp = true;
        UseKestrel(0);
        StartServer();
    }

    protected override void ConfigureWebHost(IWebHostBuilder builder)
    {
        builder.UseSetting("ConnectionStrings:School", ServiceConnectionString);
        builder.UseSetting("ConnectionStrings:SchoolOwner", _connection);
        builder.UseSetting("School:MigrateAtStart", Migrates ? "true" : "false");
        builder.UseSetting("School:PasswordIterations", "1000");
        builder.UseSetting("School:RunJobs", "false");
        builder.UseSetting("School:PublicUrl", "https://localhost");
        builder.UseSetting("School:StaffSecondStep", "offered");
        builder.UseSetting("School:KeyFile", TestKeyFile.Path);
        builder.UseSetting("School:PlainHttp", PlainHttp ? "true" : "false");
        foreach (var (key, value) in Settings)
        {
            builder.UseSetting(key, value);
        }

        builder.ConfigureLogging(logging => logging.ClearProviders().SetMinimumLevel(LogLevel.Warning).AddConsole());
        builder.ConfigureTestServices(services =>
        {
            _remembering = [.. services.Where(s => s.Lifetime == ServiceLifetime.Singleton && RememberedInProcess.IsOwn(s))];
            services.AddSingleton<IClock>(ClockOverride ?? Clock);
            // Else a pooled context goes on saying nothing for a second after somebody has begun to listen (Statements).
            services.ConfigureDbContext<SchoolDb>(options => options.ConfigureLoggingCacheTime(TimeSpan.Zero));
            Also(services);
        });
    }

#pragma warning disable RS0030 // Real nodes live by the wall clock.
    private static SystemClock Wall() => SystemClock.Instance;
#pragma warning restore RS0030
}
