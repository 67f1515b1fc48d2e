using System.Collections;
using System.Data;
using System.Data.Common;

namespace School.Web.Platform.Database;

/// <summary>The answer to one of several questions that were asked together: whoever reads it can neither go on to the next nor end them all.</summary>
internal sealed class OneAnswer(DbDataReader all) : DbDataReader
{
    public override int FieldCount => all.FieldCount;

    public override int VisibleFieldCount => all.VisibleFieldCount;

    public override int Depth => all.Depth;

    public override bool HasRows => all.HasRows;

    public override bool IsClosed => false;

    public override int RecordsAffected => -1;

    public override object this[int ordinal] => all[ordinal];

    public override object this[string name] => all[name];

    public override bool Read() => all.Read();

    public override Task<bool> ReadAsync(CancellationToken cancellationToken) => all.ReadAsync(cancellationToken);

    public override bool NextResult() => false;

    public override Task<bool> NextResultAsync(CancellationToken cancellationToken) => Task.FromResult(false);

    public override void Close()
    {
    }

    public override Task CloseAsync() => Task.CompletedTask;

    public override T GetFieldValue<T>(int ordinal) => all.GetFieldValue<T>(ordinal);

    public override Task<T> GetFieldValueAsync<T>(int ordinal, CancellationToken cancellationToken) => all.GetFieldValueAsync<T>(ordinal, cancellationToken);

    public override bool IsDBNull(int ordinal) => all.IsDBNull(ordinal);

    public override Task<bool> IsDBNullAsync(int ordinal, CancellationToken cancellationToken) => all.IsDBNullAsync(ordinal, cancellationToken);

    public override DataTable? GetSchemaTable() => all.GetSchemaTable();

    public override IEnumerator GetEnumerator() => all.GetEnumerator();

    public override bool GetBoolean(int ordinal) => all.GetBoolean(ordinal);

    public override byte GetByte(int ordinal) => all.GetByte(ordinal);

    public override char GetChar(int ordinal) => all.GetChar(ordinal);

#pragma warning disable RS0030 // What a reader of any library offers; nobody here asks for it.
    public override DateTime GetDateTime(int ordinal) => all.GetDateTime(ordinal);
#pragma warning restore RS0030

    public override decimal GetDecimal(int ordinal) => all.GetDecimal(ordinal);

    public override double GetDouble(int ordinal) => all.GetDouble(ordinal);

    public override float GetFloat(int ordinal) => all.GetFloat(ordinal);

    public override Guid GetGuid(int ordinal) => all.GetGuid(ordinal);

    public override short GetInt16(int ordinal) => all.GetInt16(ordinal);

    public override int GetInt32(int ordinal) => all.GetInt32(ordinal);

    public override long GetInt64(int ordinal) => all.GetInt64(ordinal);

    public override string GetString(int ordinal) => all.GetString(ordinal);

    public override object GetValue(int ordinal) => all.GetValue(ordinal);

    public override long GetBytes(int ordinal, long dataOffset, byte[]? buffer, int bufferOffset, int length) => all.GetBytes(ordinal, dataOffset, buffer, bufferOffset, length);

    public override long GetChars(int ordinal, long dataOffset, char[]? buffer, int bufferOffset, int length) => all.GetChars(ordinal, dataOffset, buffer, bufferOffset, length);

    public override Stream GetStream(int ordinal) => all.GetStream(ordinal);

    public override TextReader GetTextReader(int ordinal) => all.GetTextReader(ordinal);

    public override string GetDataTypeName(int ordinal) => all.GetDataTypeName(ordinal);

    public override Type GetFieldType(int ordinal) => all.GetFieldType(ordinal);

    public override string GetName(int ordinal) => all.GetName(ordinal);

    public override int GetOrdinal(string name) => all.GetOrdinal(name);

    public override int GetValues(object[] values) => all.GetValues(values);
}
