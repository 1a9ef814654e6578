// What Grafana's files may hold, put together from the types that Grafana's makers publish. `install` makes JSON Schemas of it, and a test holds grafana/ against them.
// Theirs: dashboards, panels with their options and field configurations, expressions, rules. Ours, because they publish none: an InfluxQL query, and how a rule stands in a provisioning file
// (documentation of Grafana, "Use configuration files to provision alerting resources").
import type * as alerting from '@grafana/grafana-foundation-sdk/alerting';
import type * as dashboard from '@grafana/grafana-foundation-sdk/dashboard';
import type * as common from '@grafana/grafana-foundation-sdk/common';
import type * as expr from '@grafana/grafana-foundation-sdk/expr';
import type * as stat from '@grafana/grafana-foundation-sdk/stat';
import type * as statetimeline from '@grafana/grafana-foundation-sdk/statetimeline';
import type * as table from '@grafana/grafana-foundation-sdk/table';
import type * as text from '@grafana/grafana-foundation-sdk/text';
import type * as timeseries from '@grafana/grafana-foundation-sdk/timeseries';

interface InfluxQuery {
  refId: string;
  datasource: common.DataSourceRef;
  query: string;
  rawQuery: true;
  resultFormat: 'time_series' | 'table';
  alias?: string;
  hide?: boolean;
}

interface Fields<Custom> extends Omit<dashboard.FieldConfigSource, 'defaults'> {
  defaults: Omit<dashboard.FieldConfig, 'custom'> & { custom?: Partial<Custom> };
}

interface PanelOf<Type extends string, Options, Custom> extends Omit<dashboard.Panel, 'type' | 'options' | 'fieldConfig' | 'targets' | 'gridPos' | 'id' | 'title' | 'description' | 'datasource'> {
  type: Type;
  id: number;
  title: string;
  description: string;
  gridPos: dashboard.GridPos;
  datasource: common.DataSourceRef;
  targets: InfluxQuery[];
  options: Partial<Options>;
  fieldConfig: Fields<Custom>;
}

interface TextPanel extends Omit<PanelOf<'text', text.Options, never>, 'targets' | 'fieldConfig' | 'datasource'> {}

type AnyPanel =
  | PanelOf<'stat', stat.Options, {}>
  | PanelOf<'state-timeline', statetimeline.Options, statetimeline.FieldConfig>
  | PanelOf<'table', table.Options, table.FieldConfig>
  | PanelOf<'timeseries', timeseries.Options, timeseries.FieldConfig>
  | TextPanel
  | dashboard.RowPanel;

export interface DashboardFile extends Omit<dashboard.Dashboard, 'panels' | 'uid' | 'title' | 'description'> {
  uid: string;
  title: string;
  description: string;
  panels: AnyPanel[];
}

type Told<T> = Omit<T, '_implementsDataqueryVariant'>;

interface RuleQuery extends Omit<alerting.Query, 'model'> {
  model: InfluxQuery | Told<expr.TypeReduce> | Told<expr.TypeThreshold> | Told<expr.TypeMath>;
}

interface RuleInFile extends Pick<alerting.Rule, 'condition' | 'execErrState' | 'noDataState' | 'for' | 'labels' | 'title'> {
  uid: string;
  dashboardUid: string;
  panelId: number;
  annotations: Record<string, string>;
  data: RuleQuery[];
}

export interface AlertingFile {
  apiVersion: 1;
  groups: { orgId: number; name: string; folder: string; interval: string; rules: RuleInFile[] }[];
}
